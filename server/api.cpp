#include "server/api.hpp"

#include <fmt/format.h>

#include <array>
#include <boost/asio/as_tuple.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/asio/this_coro.hpp>
#include <boost/asio/use_awaitable.hpp>
#include <charconv>
#include <nlohmann/json.hpp>
#include <sstream>

#include "common/kitchen/load.hpp"
#include "common/line/line.hpp"
#include "common/wire/codec.hpp"
#include "common/wire/parse.hpp"
#include "server/access.hpp"
#include "server/api_documents.hpp"
#include "server/archive.hpp"
#include "server/draft.hpp"
#include "server/engine.hpp"
#include "server/guarded.hpp"
#include "server/hub.hpp"
#include "server/journal.hpp"
#include "server/log.hpp"
#include "server/metrics.hpp"
#include "server/problem.hpp"
#include "server/reading_request.hpp"
#include "server/record_pages.hpp"
#include "server/session.hpp"
#include "server/ticket_document.hpp"
#include "server/ticket_request.hpp"
#include "server/version.hpp"

namespace nappe::server {

namespace {

using nlohmann::json;
constexpr auto no_throw = asio::as_tuple(asio::use_awaitable);

HttpResponse text_response(std::string json_text) {
  HttpResponse response;
  response.body = std::move(json_text);
  response.headers.emplace_back("Cache-Control", "no-store");
  return response;
}

/// A whole number from the query, within bounds; `fallback` when it is not there.
Result<std::int64_t> number_of(const Target& target, const std::string& name, std::int64_t fallback, std::int64_t low,
                               std::int64_t high) {
  const auto found = target.query.find(name);
  if (found == target.query.end()) return fallback;
  const std::string& text = found->second;
  std::int64_t value = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (error != std::errc() || end != text.data() + text.size() || value < low || value > high) {
    return Error{Errc::invalid, fmt::format("\"{}\" must be a whole number from {} to {}", name, low, high)};
  }
  return value;
}

/// Something another part of this thread will bring; the coroutine sleeps until it is there. No lock: one thread.
template <class T>
struct Awaited {
  explicit Awaited(const asio::any_io_executor& executor)
      : wake(executor, asio::steady_timer::clock_type::time_point::max()) {}
  asio::steady_timer wake;
  std::optional<T> value;

  void bring(T brought) {
    value = std::move(brought);
    wake.cancel();
  }
};

template <class T>
Task<T> wait_for(std::shared_ptr<Awaited<T>> awaited) {
  while (!awaited->value) co_await awaited->wake.async_wait(no_throw);
  co_return std::move(*awaited->value);
}

}  // namespace

Api::Api(ApiParts parts, ApiLimits limits) : parts_(std::move(parts)), limits_(limits), files_(parts_.web_folder) {}

// --- routing ---

const std::vector<Api::Route>& Api::routes() {
  static const std::vector<Route> all = {{"GET", "/healthz", &Api::get_health, true},
                                         {"GET", "/metrics", &Api::get_metrics},
                                         {"GET", "/openapi.json", &Api::get_openapi, true},
                                         {"GET", "/asyncapi.json", &Api::get_asyncapi, true},
                                         {"GET", "/clock", &Api::get_clock},
                                         {"GET", "/kitchen", &Api::get_kitchen},
                                         {"GET", "/screens", &Api::get_screens},
                                         {"GET", "/screens/", &Api::get_screen},
                                         {"POST", "/tickets", &Api::post_ticket},
                                         {"GET", "/tickets/", &Api::get_ticket},
                                         {"POST", "/draft", &Api::post_draft},
                                         {"GET", "/card", &Api::get_card},
                                         {"POST", "/commands", &Api::post_command},
                                         {"GET", "/events", &Api::get_events},
                                         {"GET", "/record", &Api::get_record},
                                         {"GET", "/record/", &Api::get_record_page},
                                         {"GET", "/batches", &Api::get_batches},
                                         {"POST", "/readings", &Api::post_readings},
                                         {"GET", "/paper", &Api::get_paper},
                                         {"GET", "/live", &Api::get_live, true},
                                         {"POST", "/demo/clock", &Api::post_demo_clock}};
  return all;
}

Task<HttpResponse> Api::handle(HttpRequest request) {
  auto target = read_target(request.target);
  if (!target) co_return problem_response(target.error());
  const std::string method = request.method == "HEAD" ? "GET" : request.method;
  const std::string path = target->path;
  const auto now = std::chrono::steady_clock::now();
  if (auto answered = parts_.access.answer(request, *target, now)) co_return std::move(*answered);
  std::string allowed;
  for (const Route& route : routes()) {
    const std::string_view known(route.path);
    const bool open_ended = known.ends_with('/') && path.size() > known.size() && path.starts_with(known);
    if (path != known && !open_ended) continue;
    if (method != route.method) {
      allowed = route.method == std::string_view("GET") ? "GET, HEAD" : route.method;
      continue;
    }
    Call call;
    if (!route.for_anybody) {
      const Access::Known asking = parts_.access.who(request, now);
      if (!asking.device) co_return refused_response(asking.refused);
      const Status may = may_read(*asking.device, path);
      if (!may && method == "GET") co_return problem_response(may.error());
      call.who = asking.device;
    }
    call.rest = path.substr(open_ended ? known.size() : path.size());
    call.request = std::move(request);
    call.target = std::move(target).value();
    auto answer = route.answer;
    co_return co_await (this->*answer)(std::move(call));
  }
  if (allowed.empty()) {
    auto file = files_.find(path, request);
    if (file && method == "GET") co_return std::move(*file);
    if (!file) co_return problem_response(Error{Errc::unknown, "there is nothing at " + path});
    allowed = "GET, HEAD";
  }
  HttpResponse response = problem_response(Error{Errc::invalid, request.method + " is not for " + path}, 405);
  response.headers.emplace_back("Allow", allowed);
  co_return response;
}

// --- waiting for the engine ---

template <class T>
Task<Result<T>> Api::settled(std::function<T()> read) {
  auto executor = co_await asio::this_coro::executor;
  auto awaited = std::make_shared<Awaited<Result<T>>>(executor);
  // Read where the engine says so: when this coroutine goes on, the next commit may be under way.
  parts_.engine.when_settled([this, awaited, read = std::move(read)](bool readable) {
    awaited->bring(readable ? guarded("read", read) : Result<T>(failure()));
  });
  auto found = co_await wait_for(awaited);
  co_return found;
}

Task<> Api::acts_shown() {
  if (parts_.engine.failure()) co_return;  // nothing more is shown
  auto executor = co_await asio::this_coro::executor;
  auto awaited = std::make_shared<Awaited<bool>>(executor);
  awaited->wake.expires_after(limits_.shown_patience);
  parts_.when_shown(parts_.engine.acknowledged(), [awaited] { awaited->bring(true); });
  // One wait, ended by what it waits for or by its time.
  if (!awaited->value) co_await awaited->wake.async_wait(no_throw);
}

bool Api::may_write(const Device& device) {
  constexpr std::size_t names_max = 2 * devices_max;
  if (writes_.size() > names_max) writes_.clear();
  const auto [at, fresh] = writes_.try_emplace(device.name, limits_.writes_per_second, limits_.writes_at_once);
  return at->second.take(std::chrono::steady_clock::now());
}

Task<Answer> Api::submit(line::Command command, std::string digest, DevicePtr who) {
  auto executor = co_await asio::this_coro::executor;
  auto awaited = std::make_shared<Awaited<Answer>>(executor);
  parts_.engine.submit(
      std::move(command), std::move(digest), [awaited](const Answer& answer) { awaited->bring(answer); },
      [who](const line::Command& asked, const line::State& state) { return may_ask(*who, asked.action, state); });
  Answer answer = co_await wait_for(awaited);
  co_return answer;
}

Error Api::failure() const {
  const Error closing{Errc::unavailable, "the server is closing"};
  return parts_.engine.failure().value_or(closing);
}

// --- reading ---

Task<HttpResponse> Api::get_health(Call) {
  if (parts_.engine.failure()) co_return problem_response(failure());
  co_return json_response({{"status", "ok"}, {"version", version_text}, {"events", parts_.engine.last_event()}});
}

Task<HttpResponse> Api::get_metrics(Call) {
  HttpResponse response;
  response.type = Metrics::type;
  response.body = parts_.metrics.text();
  co_return response;
}

Task<HttpResponse> Api::get_openapi(Call) { co_return text_response(openapi_document()); }
Task<HttpResponse> Api::get_asyncapi(Call) { co_return text_response(asyncapi_document()); }

Task<HttpResponse> Api::get_clock(Call) {
  const Instant now = parts_.engine.now();
  co_return json_response({{"now_ms", to_ms(now)}, {"now", to_rfc3339(now)}, {"rate", parts_.engine.clock().rate()}});
}

Task<HttpResponse> Api::get_kitchen(Call) {
  const std::function<std::string()> read = [this] {
    const auto& kitchen = parts_.engine.state().kitchen;
    return kitchen ? kitchen::to_document(*kitchen) : std::string();
  };
  auto running = co_await settled(read);
  if (!running) co_return problem_response(running.error());
  if (!running->empty()) co_return text_response(std::move(running).value());
  auto document = parts_.kitchen_document();
  if (!document) co_return problem_response(document.error());
  co_return text_response(std::move(document).value());
}

Task<HttpResponse> Api::get_screens(Call) {
  co_await acts_shown();
  const Board& board = parts_.hub.board();
  json screens = json::object();
  for (const std::string& name : board.names()) screens[name] = board.number(name);
  co_return json_response({{"epoch", board.epoch()}, {"screens", screens}});
}

Task<HttpResponse> Api::get_screen(Call call) {
  co_await acts_shown();
  const Board& board = parts_.hub.board();
  if (!board.has(call.rest)) {
    co_return problem_response(
        Error{Errc::unknown, "there is no screen \"" + call.rest + "\"; GET /screens lists them"});
  }
  const auto frames = board.catch_up(call.rest, "", 0);
  co_return text_response(*frames.front());
}

Task<HttpResponse> Api::get_ticket(Call call) {
  std::uint32_t number = 0;
  const char* end = call.rest.data() + call.rest.size();
  const auto [stop, error] = std::from_chars(call.rest.data(), end, number);
  if (error != std::errc() || stop != end) number = 0;
  const std::function<std::string()> read = [this, number] {
    const line::Ticket* ticket = parts_.engine.state().find_ticket(line::TicketId{number});
    return ticket != nullptr ? ticket_document(*ticket) : std::string();
  };
  auto document = co_await settled(read);
  if (!document) co_return problem_response(document.error());
  if (document->empty()) co_return problem_response(Error{Errc::unknown, "there is no ticket " + call.rest});
  co_return text_response(std::move(document).value());
}

Task<HttpResponse> Api::get_events(Call call) {
  const auto after = number_of(call.target, "after", 0, 0, std::numeric_limits<std::int64_t>::max());
  if (!after) co_return problem_response(after.error());
  const auto limit = number_of(call.target, "limit", 100, 1, limits_.events_max);
  if (!limit) co_return problem_response(limit.error());
  const bool lines = call.request.header("accept").find("application/x-ndjson") != std::string_view::npos;
  std::string body;
  const auto visit = [&](const StoredEvent& stored) -> Status {
    const json head = {{"seq", stored.seq},
                       {"at_ms", to_ms(stored.event.at)},
                       {"at", to_rfc3339(stored.event.at)},
                       {"command_id", stored.event.command_id},
                       {"name", stored.event.name}};
    std::string text = wire::write_json(head);
    text.pop_back();  // the closing brace: the body is JSON text already
    text += ",\"body\":" + stored.event.body + '}';
    body += lines ? text + '\n' : (body.empty() ? "" : ",") + text;
    return Done{};
  };
  const auto read = parts_.reader.read(*after, *limit, visit);
  if (!read) co_return problem_response(read.error());
  HttpResponse response = text_response(lines ? body : '[' + body + ']');
  if (lines) response.type = "application/x-ndjson";
  co_return response;
}

Task<HttpResponse> Api::get_record(Call) {
  const std::function<HttpResponse()> read = [this] {
    const auto commands = parts_.reader.count_commands();
    if (!commands) return problem_response(commands.error());
    const line::State& state = parts_.engine.state();
    return json_response({{"format", 1},
                          {"events", parts_.engine.last_event()},
                          {"commands", *commands},
                          {"last_ms", to_ms(state.now)},
                          {"fingerprint", line::fingerprint(state)}});
  };
  auto response = co_await settled(read);
  if (!response) co_return problem_response(response.error());
  co_return std::move(response).value();
}

Task<HttpResponse> Api::get_batches(Call) {
  const std::function<std::string()> read = [this] { return batches_document(parts_.engine.state()); };
  auto document = co_await settled(read);
  if (!document) co_return problem_response(document.error());
  co_return text_response(std::move(document).value());
}

Task<HttpResponse> Api::get_record_page(Call call) {
  const std::function<Duration()> read = [this] {
    const auto& kitchen = parts_.engine.state().kitchen;
    return kitchen ? minutes(kitchen->settings.utc_offset_minutes) : Duration::zero();
  };
  const auto offset = co_await settled(read);
  if (!offset) co_return problem_response(offset.error());
  RecordAsked asked{std::move(call.rest), std::move(call.target), *offset, parts_.engine.now()};
  auto executor = co_await asio::this_coro::executor;
  auto awaited = std::make_shared<Awaited<HttpResponse>>(executor);
  parts_.archive.page(std::move(asked), [awaited](HttpResponse page) { awaited->bring(std::move(page)); });
  HttpResponse response = co_await wait_for(awaited);
  co_return response;
}

Task<HttpResponse> Api::get_live(Call) {
  HttpResponse response = problem_response(Error{Errc::invalid, "/live is a WebSocket; ask for the upgrade"}, 426);
  response.headers.emplace_back("Upgrade", "websocket");
  co_return response;
}

Task<HttpResponse> Api::get_paper(Call call) {
  const auto asked = call.target.query.find("size");
  const std::string size = asked == call.target.query.end() ? "roll" : asked->second;
  if (size != "roll" && size != "a4") co_return problem_response(Error{Errc::invalid, "\"size\" is roll or a4"});
  co_await acts_shown();
  HttpResponse response = text_response(parts_.paper(size));
  response.type = "text/plain; charset=us-ascii";
  co_return response;
}

// --- writing ---

namespace {

HttpResponse refusal(const Answer& answer) {
  return answer.reused ? problem_response(answer.error, 422) : problem_response(answer.error);
}

const Error too_many_writes{Errc::too_many, "too many commands at once; send it again in a second"};

}  // namespace

Task<HttpResponse> Api::post_ticket(Call call) {
  if (!may_write(*call.who)) co_return problem_response(too_many_writes);
  const auto key = read_idempotency_key(call.request);
  if (!key) co_return problem_response(key.error());
  TicketRequest ticket;
  if (const auto wrong = read_ticket_request(call.request, call.target, ticket)) {
    co_return problem_response(wrong->error, wrong->status);
  }
  line::Command command;
  command.id = "ticket:" + *key;
  command.by = ticket.by;
  command.at = ticket.at.value_or(parts_.engine.now());
  std::string digest = digest_of(ticket.by + '\n' + call.request.body);

  struct Found {
    std::optional<Answer> answer;
    Result<line::Order> order;
  };
  // A ticket sent again is answered as before, even if the kitchen has changed so that its line reads otherwise now.
  const std::function<Found()> read = [this, id = command.id, digest, ticket] {
    auto answer = parts_.engine.recall(id, digest);
    if (answer) return Found{std::move(answer), line::Order{}};
    return Found{std::nullopt, ticket.order ? Result<line::Order>(*ticket.order) : read_line(ticket.line)};
  };
  auto found = co_await settled(read);
  if (!found) co_return problem_response(found.error());
  std::optional<Answer> answer = std::move(found->answer);
  if (!answer) {
    if (!found->order) co_return problem_response(found->order.error());
    line::SendTicket send;
    send.order = std::move(found->order).value();
    send.sure = ticket.sure;
    command.action = std::move(send);
    answer = co_await submit(std::move(command), std::move(digest), call.who);
  }
  if (!answer->done) co_return refusal(*answer);
  HttpResponse response =
      json_response({{"ticket", answer->ticket}, {"table", answer->table}, {"says", answer->says}}, 201);
  response.headers.emplace_back("Location", fmt::format("/tickets/{}", answer->ticket));
  co_return response;
}

Task<HttpResponse> Api::post_draft(Call call) {
  if (!may_write(*call.who)) co_return problem_response(too_many_writes);
  TicketRequest ticket;
  if (const auto wrong = read_ticket_request(call.request, call.target, ticket)) {
    co_return problem_response(wrong->error, wrong->status);
  }
  const std::function<HttpResponse()> read = [this, ticket, who = call.who] { return draft(ticket, *who); };
  auto drafted = co_await settled(read);
  if (!drafted) co_return problem_response(drafted.error());
  co_return std::move(drafted).value();
}

HttpResponse Api::draft(const TicketRequest& ticket, const Device& who) const {
  const auto order = ticket.order ? Result<line::Order>(*ticket.order) : read_line(ticket.line);
  if (!order) return problem_response(order.error());
  const line::State& state = parts_.engine.state();
  const line::Action send = line::SendTicket{*order};
  if (const Status may = may_ask(who, send, state); !may) return problem_response(may.error());
  const auto drafted = parts_.draft(state, *order, parts_.engine.now());
  if (!drafted) return problem_response(drafted.error());
  return json_response(*drafted);
}

Task<HttpResponse> Api::get_card(Call call) {
  const auto asked = call.target.query.find("without");
  const std::string without = asked == call.target.query.end() ? std::string() : asked->second;
  const std::function<HttpResponse()> read = [this, without] { return card(without); };
  auto said = co_await settled(read);
  if (!said) co_return problem_response(said.error());
  co_return std::move(said).value();
}

HttpResponse Api::card(const std::string& without) const {
  const auto& kitchen = parts_.engine.state().kitchen;
  if (!kitchen) return problem_response(Error{Errc::conflict, "no service is open: there is no card yet"});
  std::vector<std::string> allergies;
  std::istringstream names(without);
  for (std::string name; std::getline(names, name, ',');)
    if (!name.empty()) allergies.push_back(name);
  const auto document = card_document(*kitchen, allergies);
  if (!document) return problem_response(document.error());
  return json_response(*document);
}

Result<line::Order> Api::read_line(const std::string& line) const {
  const auto& kitchen = parts_.engine.state().kitchen;
  if (!kitchen) return Error{Errc::conflict, "no service is open: open it before sending tickets"};
  return parts_.read_ticket_line(line, *kitchen);
}

Task<HttpResponse> Api::post_command(Call call) {
  if (!may_write(*call.who)) co_return problem_response(too_many_writes);
  if (!call.request.header("content-type").starts_with("application/json")) {
    co_return problem_response(Error{Errc::invalid, "send a command as application/json"}, 415);
  }
  auto command = wire::read_command(call.request.body);
  if (!command) co_return problem_response(command.error());
  const auto parsed = wire::parse_json(call.request.body);
  // The same text as the socket's command member would be: a command may be repeated on either way.
  std::string digest = digest_of(parsed->dump());
  const std::string id = command->id;
  const Answer answer = co_await submit(std::move(command).value(), std::move(digest), call.who);
  if (!answer.done) co_return refusal(answer);
  json body = {{"id", id}, {"number", answer.number}};
  if (answer.ticket != 0) body["ticket"] = answer.ticket;
  if (!answer.says.empty()) body["says"] = answer.says;
  co_return json_response(body);
}

Task<HttpResponse> Api::post_readings(Call call) {
  if (!may_write(*call.who)) co_return problem_response(too_many_writes);
  if (!call.request.header("content-type").starts_with("application/json")) {
    co_return problem_response(Error{Errc::invalid, "send a reading as application/json"}, 415);
  }
  auto command = read_reading(call.request.body, call.who->name, parts_.engine.now());
  if (!command) co_return problem_response(command.error());
  std::string digest = digest_of(call.request.body);
  const Answer answer = co_await submit(std::move(command).value(), std::move(digest), call.who);
  if (!answer.done) co_return refusal(answer);
  co_return json_response({{"number", answer.number}, {"says", answer.says}});
}

Task<HttpResponse> Api::post_demo_clock(Call call) {
  if (call.who->role != Role::manager) {
    co_return problem_response(Error{Errc::forbidden, "the clock is the manager's to set"});
  }
  if (!parts_.demo) {
    co_return problem_response(Error{Errc::unknown, "the clock can be set in a demo only (napped --demo)"});
  }
  const auto parsed = wire::parse_json(call.request.body);
  if (!parsed) co_return problem_response(parsed.error());
  const auto asked = read_clock_request(*parsed, parts_.engine.now(), parts_.engine.clock().rate());
  if (!asked) co_return problem_response(asked.error());
  auto executor = co_await asio::this_coro::executor;
  auto awaited = std::make_shared<Awaited<Status>>(executor);
  parts_.engine.set_clock(asked->kitchen, asked->rate, [awaited](Status status) { awaited->bring(std::move(status)); });
  const Status done = co_await wait_for(awaited);
  if (!done) co_return problem_response(done.error());
  parts_.hub.tell_all(welcome_frame(parts_.hub, parts_.engine));
  Call read;
  co_return co_await get_clock(std::move(read));
}

Result<Api::ClockRequest> Api::read_clock_request(const json& body, Instant now, double rate) {
  ClockRequest asked{now, rate};
  if (!body.is_object() || body.empty()) return Error{Errc::invalid, "the body must be an object with rate or at_ms"};
  for (const auto& [name, value] : body.items()) {
    if (name == "rate" && value.is_number()) {
      asked.rate = value.get<double>();
    } else if (name == "at_ms" && value.is_number_integer()) {
      asked.kitchen = from_ms(value.get<std::int64_t>());
    } else {
      return Error{Errc::invalid, "\"" + name + "\" is no such member, or not a number; there are rate and at_ms",
                   "/" + name};
    }
  }
  if (!(asked.rate >= 0 && asked.rate <= clock_rate_max)) {
    return Error{Errc::invalid, fmt::format("\"rate\" must be from 0 to {}", clock_rate_max), "/rate"};
  }
  return asked;
}

}  // namespace nappe::server
