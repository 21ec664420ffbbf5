#include "client/connection.hpp"

#include <boost/asio/ip/tcp.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/beast/core/buffers_to_string.hpp>
#include <boost/beast/core/flat_buffer.hpp>
#include <boost/beast/core/tcp_stream.hpp>
#include <boost/beast/websocket.hpp>
#include <deque>
#include <random>

namespace nappe::client {
namespace {

namespace asio = boost::asio;
namespace beast = boost::beast;
namespace websocket = beast::websocket;
using tcp = asio::ip::tcp;
using Stream = websocket::stream<beast::tcp_stream, false>;  // No deflate: patches are small, compiling it is not.

constexpr std::size_t message_bytes_max = 8U << 20U;
constexpr std::chrono::milliseconds first_wait{250};
constexpr std::chrono::milliseconds longest_wait{5000};

}  // namespace

// One object for all attempts. Handlers keep it alive and carry the number of their attempt: those of an attempt that
// is over do nothing.
struct Connection::Impl : std::enable_shared_from_this<Connection::Impl> {
  Impl(asio::io_context& context, Address where, Hears who)
      : io(context), address(std::move(where)), hears(std::move(who)), resolver(context), timer(context) {}

  asio::io_context& io;
  Address address;
  Hears hears;
  tcp::resolver resolver;
  asio::steady_timer timer;
  std::unique_ptr<Stream> stream;
  beast::flat_buffer buffer;
  std::deque<std::string> outbox;
  std::chrono::milliseconds wait = first_wait;
  std::minstd_rand spread{std::random_device{}()};
  unsigned attempt = 0;
  bool open = false;
  bool writing = false;
  bool stopped = false;

  void try_once() {
    if (stopped) return;
    ++attempt;
    stream.reset();
    buffer.clear();
    outbox.clear();
    open = writing = false;
    resolver.async_resolve(address.host, address.port,
                           [self = shared_from_this(), n = attempt](beast::error_code error, auto found) {
                             if (n != self->attempt) return;
                             if (error) return self->fell("no address: " + error.message());
                             self->connect(found);
                           });
  }

  void connect(const tcp::resolver::results_type& found) {
    stream = std::make_unique<Stream>(io);
    beast::get_lowest_layer(*stream).expires_after(std::chrono::seconds(5));
    beast::get_lowest_layer(*stream).async_connect(
        found, [self = shared_from_this(), n = attempt](beast::error_code error, const tcp::endpoint&) {
          if (n != self->attempt) return;
          if (error) return self->fell(error.message());
          self->shake_hands();
        });
  }

  void shake_hands() {
    auto& lowest = beast::get_lowest_layer(*stream);
    lowest.expires_never();
    beast::error_code ignored;
    lowest.socket().set_option(tcp::no_delay(true), ignored);
    // Pings after five silent seconds: a cable pulled out is noticed within ten.
    stream->set_option(websocket::stream_base::timeout{std::chrono::seconds(5), std::chrono::seconds(10), true});
    stream->read_message_max(message_bytes_max);
    stream->async_handshake(address_text(address), "/live",
                            [self = shared_from_this(), n = attempt](beast::error_code error) {
                              if (n != self->attempt) return;
                              if (error) return self->fell(error.message());
                              self->up();
                            });
  }

  void up() {
    open = true;
    wait = first_wait;
    stream->text(true);
    read();
    if (!stopped && hears.opened) hears.opened();
  }

  void read() {
    stream->async_read(buffer, [self = shared_from_this(), n = attempt](beast::error_code error, std::size_t) {
      if (n != self->attempt) return;
      if (error) return self->fell(error.message());
      std::string frame = beast::buffers_to_string(self->buffer.data());
      self->buffer.clear();
      self->read();
      if (!self->stopped && self->hears.frame) self->hears.frame(std::move(frame));
    });
  }

  void write() {
    if (writing || !open || outbox.empty()) return;
    writing = true;
    stream->async_write(asio::buffer(outbox.front()),
                        [self = shared_from_this(), n = attempt](beast::error_code error, std::size_t) {
                          if (n != self->attempt) return;
                          self->writing = false;
                          if (error) return self->fell(error.message());
                          self->outbox.pop_front();
                          if (self->stopped && self->outbox.empty()) return self->hang_up();
                          self->write();
                        });
  }

  void fell(const std::string& why) {
    const bool was_open = open;
    ++attempt;  // Whatever else is on its way for this attempt is void.
    open = writing = false;
    if (stream) beast::get_lowest_layer(*stream).close();
    if (stopped) return;
    if (was_open && hears.closed) hears.closed(why);
    if (!was_open && hears.failed) hears.failed(why);
    const auto half = static_cast<std::uint32_t>(wait.count() / 2);
    timer.expires_after(std::chrono::milliseconds(half + spread() % (half + 1)));
    wait = std::min(wait * 2, longest_wait);
    timer.async_wait([self = shared_from_this()](beast::error_code error) {
      if (!error) self->try_once();
    });
  }

  void hang_up() {
    timer.cancel();
    resolver.cancel();
    if (!stream) return;
    if (!open) return beast::get_lowest_layer(*stream).close();
    open = false;
    stream->async_close(websocket::close_code::normal, [self = shared_from_this()](beast::error_code) {
      beast::get_lowest_layer(*self->stream).close();
    });
  }
};

Connection::Connection(asio::io_context& io, Address address, Hears hears)
    : impl_(std::make_shared<Impl>(io, std::move(address), std::move(hears))) {}

Connection::~Connection() {
  impl_->stopped = true;
  ++impl_->attempt;
  impl_->timer.cancel();
  impl_->resolver.cancel();
  if (impl_->stream) beast::get_lowest_layer(*impl_->stream).close();
}

void Connection::start() { impl_->try_once(); }

void Connection::send(std::vector<std::string> frames) {
  if (!impl_->open) return;
  for (std::string& frame : frames) impl_->outbox.push_back(std::move(frame));
  impl_->write();
}

void Connection::stop() {
  impl_->stopped = true;
  if (!impl_->writing) impl_->hang_up();
}

}  // namespace nappe::client
