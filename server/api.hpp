#pragma once
// What the server answers over HTTP. server/api/openapi.json describes it; a test holds the two together.

#include <chrono>
#include <functional>
#include <map>
#include <nlohmann/json_fwd.hpp>
#include <string>
#include <vector>

#include "common/plan/plan.hpp"
#include "server/answer.hpp"
#include "server/http.hpp"
#include "server/net.hpp"
#include "server/rate.hpp"
#include "server/roles.hpp"
#include "server/static_files.hpp"
#include "server/ticket_request.hpp"

namespace nappe::server {

class Access;
class Archive;
class Engine;
class Hub;
class JournalReader;
class Metrics;

struct ApiParts {
  Engine& engine;
  Access& access;
  Hub& hub;
  JournalReader& reader;
  Archive& archive;
  Metrics& metrics;
  std::function<Result<std::string>()> kitchen_document;  ///< Of the house's folder, while no service has been opened.
  /// One line as the floor types it, to an order of this kitchen.
  std::function<Result<line::Order>(const std::string& line, const kitchen::Kitchen& kitchen)> read_ticket_line;
  /// What sending this order would mean (draft.hpp).
  std::function<Result<nlohmann::json>(const line::State& state, const line::Order& order, Instant now)> draft;
  std::function<std::string(const std::string& size)> paper;  ///< The paper line, "roll" or "a4".
  /// Calls back when the screens show at least so many changes (display.hpp).
  std::function<void(std::int64_t number, std::function<void()> shown)> when_shown;
  std::string web_folder;
  bool demo = false;  ///< Whether the clock may be set.
};

struct ApiLimits {
  double writes_per_second = 200;  ///< Commands and tickets over HTTP, of one device.
  double writes_at_once = 1000;
  std::int64_t events_max = 1000;  ///< In one answer of /events.
  /// So long a read of a screen waits until it shows what has been acknowledged; then it answers what there is.
  std::chrono::milliseconds shown_patience{2000};
};

class Api {
 public:
  Api(ApiParts parts, ApiLimits limits = {});

  /// Answers one request. HEAD is answered as GET; the caller leaves the body out.
  Task<HttpResponse> handle(HttpRequest request);

 private:
  /// A request that found its route: `rest` is what the path has behind the route's own part.
  struct Call {
    HttpRequest request;
    Target target;
    std::string rest;
    DevicePtr who;  ///< Null where anybody may ask.
  };
  struct Route {
    const char* method;
    const char* path;  ///< Ends in '/' when something must follow.
    Task<HttpResponse> (Api::*answer)(Call);
    bool for_anybody = false;  ///< No token needed.
  };
  static const std::vector<Route>& routes();

  Task<HttpResponse> get_health(Call call);
  Task<HttpResponse> get_metrics(Call call);
  Task<HttpResponse> get_openapi(Call call);
  Task<HttpResponse> get_asyncapi(Call call);
  Task<HttpResponse> get_clock(Call call);
  Task<HttpResponse> get_kitchen(Call call);
  Task<HttpResponse> get_screens(Call call);
  Task<HttpResponse> get_screen(Call call);
  Task<HttpResponse> get_ticket(Call call);
  Task<HttpResponse> post_ticket(Call call);
  Task<HttpResponse> post_draft(Call call);
  Task<HttpResponse> get_card(Call call);
  Task<HttpResponse> post_command(Call call);
  Task<HttpResponse> get_events(Call call);
  Task<HttpResponse> get_record(Call call);
  Task<HttpResponse> get_batches(Call call);
  Task<HttpResponse> get_record_page(Call call);
  Task<HttpResponse> post_readings(Call call);
  Task<HttpResponse> get_live(Call call);
  Task<HttpResponse> get_paper(Call call);
  Task<HttpResponse> post_demo_clock(Call call);

  /// What `read` finds in the state when all of it is durable: it is called before the next commit begins. Fails
  /// when the engine has failed.
  template <class T>
  Task<Result<T>> settled(std::function<T()> read);
  /// Waits until the screens show everything that had been acknowledged when it was called: whoever has been answered
  /// finds what they did. The screens themselves wait for nobody.
  Task<> acts_shown();
  /// Hands the command in and waits until it is durable or refused.
  Task<Answer> submit(line::Command command, std::string digest, DevicePtr who);
  /// Takes one of the device's writes.
  bool may_write(const Device& device);
  [[nodiscard]] Error failure() const;
  [[nodiscard]] HttpResponse draft(const TicketRequest& ticket, const Device& who) const;
  [[nodiscard]] HttpResponse card(const std::string& without) const;
  [[nodiscard]] Result<line::Order> read_line(const std::string& line) const;
  struct ClockRequest {
    Instant kitchen;
    double rate;
  };
  static Result<ClockRequest> read_clock_request(const nlohmann::json& body, Instant now, double rate);

  ApiParts parts_;
  ApiLimits limits_;
  StaticFiles files_;
  std::map<std::string, RateLimit> writes_;  ///< By the device's name.
};

}  // namespace nappe::server
