#pragma once
// Names for what the server uses of Asio. One io_context on one thread: no mutex, no strand.

#include <boost/asio/any_io_executor.hpp>
#include <boost/asio/awaitable.hpp>
#include <boost/asio/ip/tcp.hpp>
#include <boost/system/error_code.hpp>
#include <string_view>

namespace nappe::server {

namespace asio = boost::asio;
using tcp = asio::ip::tcp;
using ErrorCode = boost::system::error_code;

template <class T = void>
using Task = asio::awaitable<T>;

/// Starts a coroutine; one that throws is logged under `name` (a literal), never lost.
void spawn(const asio::any_io_executor& executor, std::string_view name, Task<> task);

/// Something with a connection to close when the server does.
class Closable {
 public:
  virtual ~Closable() = default;
  /// Asks politely (a close frame); cut() when there is no time for that.
  virtual void close_going_away() = 0;
  virtual void cut() = 0;
};

}  // namespace nappe::server
