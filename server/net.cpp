#include "server/net.hpp"

#include <boost/asio/co_spawn.hpp>

#include "server/log.hpp"

namespace nappe::server {

void spawn(const asio::any_io_executor& executor, std::string_view name, Task<> task) {
  asio::co_spawn(executor, std::move(task), [name](const std::exception_ptr& failure) { log_failure(name, failure); });
}

}  // namespace nappe::server
