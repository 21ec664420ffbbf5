#include "client/connection.hpp"

#include <boost/asio/ip/tcp.hpp>
#include <boost/asio/ssl/stream.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/beast/core/buffers_to_string.hpp>
#include <boost/beast/core/flat_buffer.hpp>
#include <boost/beast/core/tcp_stream.hpp>
#include <boost/beast/ssl/ssl_stream.hpp>
#include <boost/beast/websocket.hpp>
#include <boost/beast/websocket/ssl.hpp>
#include <deque>
#include <random>

#include "client/tls.hpp"

namespace nappe::client {
namespace {

namespace asio = boost::asio;
namespace beast = boost::beast;
namespace websocket = beast::websocket;
using tcp = asio::ip::tcp;
// No deflate: patches are small, compiling it is not.
using Plain = websocket::stream<beast::tcp_stream, false>;
using Tls = websocket::stream<beast::ssl_stream<beast::tcp_stream>, false>;

constexpr std::size_t message_bytes_max = 8U << 20U;
constexpr std::chrono::milliseconds first_wait{250};
constexpr std::chrono::milliseconds longest_wait{5000};

}  // namespace

struct Connection::Impl {
  virtual ~Impl() = default;
  virtual void start() = 0;
  virtual void send(std::vector<std::string> frames) = 0;
  virtual void stop() = 0;
  virtual void drop() = 0;
};

namespace {

// One object for all attempts. Handlers keep it alive and carry the number of their attempt: those of an attempt that
// is over do nothing.
template <class Stream>
struct Link final : Connection::Impl, std::enable_shared_from_this<Link<Stream>> {
  using std::enable_shared_from_this<Link<Stream>>::shared_from_this;
  Link(asio::io_context& context, Address where, Connection::Hears who, TlsContext with)
      : io(context),
        address(std::move(where)),
        hears(std::move(who)),
        tls(std::move(with)),
        resolver(context),
        timer(context) {}

  asio::io_context& io;
  Address address;
  Connection::Hears hears;
  TlsContext tls;  ///< Empty where nothing is encrypted.
  tcp::resolver resolver;
  asio::steady_timer timer;
  std::unique_ptr<Stream> stream;
  beast::flat_buffer buffer;
  websocket::response_type answer;  ///< To the request for a socket.
  std::deque<std::string> outbox;
  std::chrono::milliseconds wait = first_wait;
  std::minstd_rand spread{std::random_device{}()};
  static constexpr bool encrypted = std::is_same_v<Stream, Tls>;
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
    if constexpr (encrypted) {
      stream = std::make_unique<Stream>(io, *tls.context);
    } else {
      stream = std::make_unique<Stream>(io);
    }
    beast::get_lowest_layer(*stream).expires_after(std::chrono::seconds(5));
    beast::get_lowest_layer(*stream).async_connect(
        found, [self = shared_from_this(), n = attempt](beast::error_code error, const tcp::endpoint&) {
          if (n != self->attempt) return;
          if (error) return self->fell(error.message());
          self->greet();
        });
  }

  void greet() {
    if constexpr (encrypted) {
      stream->next_layer().async_handshake(asio::ssl::stream_base::client,
                                           [self = shared_from_this(), n = attempt](beast::error_code error) {
                                             if (n != self->attempt) return;
                                             const std::string& why = self->tls.check->refused;
                                             if (error) return self->fell(why.empty() ? error.message() : why);
                                             self->shake_hands();
                                           });
    } else {
      shake_hands();
    }
  }

  void shake_hands() {
    auto& lowest = beast::get_lowest_layer(*stream);
    lowest.expires_never();
    beast::error_code ignored;
    lowest.socket().set_option(tcp::no_delay(true), ignored);
    // Pings after five silent seconds: a cable pulled out is noticed within ten.
    stream->set_option(websocket::stream_base::timeout{std::chrono::seconds(5), std::chrono::seconds(10), true});
    stream->read_message_max(message_bytes_max);
    if (!address.token.empty()) {
      stream->set_option(websocket::stream_base::decorator([token = address.token](websocket::request_type& request) {
        request.set(beast::http::field::authorization, "Bearer " + token);
      }));
    }
    stream->async_handshake(answer, address_text(address), "/live",
                            [self = shared_from_this(), n = attempt](beast::error_code error) {
                              if (n != self->attempt) return;
                              if (error == websocket::error::upgrade_declined && self->turned_away()) return;
                              if (error) return self->fell(error.message());
                              self->up();
                            });
  }

  // Whether the server will not have this device; then there is no point in trying again.
  bool turned_away() {
    if (answer.result() != beast::http::status::unauthorized || !hears.turned_away) return false;
    ++attempt;
    beast::get_lowest_layer(*stream).close();
    hears.turned_away();
    return true;
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

  void start() override { try_once(); }

  void send(std::vector<std::string> frames) override {
    if (!open) return;
    for (std::string& frame : frames) outbox.push_back(std::move(frame));
    write();
  }

  void stop() override {
    stopped = true;
    if (!writing) hang_up();
  }

  void drop() override {
    stopped = true;
    ++attempt;
    timer.cancel();
    resolver.cancel();
    if (stream) beast::get_lowest_layer(*stream).close();
  }
};

}  // namespace

Connection::Connection(asio::io_context& io, Address address, Hears hears) {
  if (!address.tls) {
    impl_ = std::make_shared<Link<Plain>>(io, std::move(address), std::move(hears), TlsContext{});
    return;
  }
  auto tls = tls_context(address);
  // A file of certificates that cannot be read was refused when the device asked who it is; here nothing is trusted.
  TlsContext with{std::make_shared<asio::ssl::context>(asio::ssl::context::tls_client), std::make_shared<TlsCheck>()};
  with.context->set_verify_mode(asio::ssl::verify_peer);
  if (tls) with = std::move(tls).value();
  impl_ = std::make_shared<Link<Tls>>(io, std::move(address), std::move(hears), std::move(with));
}

Connection::~Connection() { impl_->drop(); }
void Connection::start() { impl_->start(); }
void Connection::send(std::vector<std::string> frames) { impl_->send(std::move(frames)); }
void Connection::stop() { impl_->stop(); }

}  // namespace nappe::client
