#include "server/access.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "common/wire/parse.hpp"
#include "server/log.hpp"

namespace nappe::server {

namespace {

using nlohmann::json;

DevicePtr manager_called(const char* name) {
  auto device = std::make_shared<Device>();
  device->name = name;
  device->role = Role::manager;
  return device;
}

json device_json(const Device& device) {
  json out = {{"name", device.name}, {"role", role_name(device.role)}};
  if (!device.station.empty()) out["station"] = device.station;
  return out;
}

std::string_view bearer(const HttpRequest& request) {
  constexpr std::string_view scheme = "Bearer ";
  const std::string_view header = request.header("authorization");
  return header.starts_with(scheme) ? header.substr(scheme.size()) : std::string_view();
}

/// The answer to a method that this path does not have.
HttpResponse not_for(const HttpRequest& request, const std::string& path, const char* allowed) {
  HttpResponse response = problem_response(Error{Errc::invalid, request.method + " is not for " + path}, 405);
  response.headers.emplace_back("Allow", allowed);
  return response;
}

struct PairRequest {
  std::string word;
  Device device;
};

Result<PairRequest> read_pair_request(const std::string& body, const std::set<std::string>& stations) {
  const auto parsed = wire::parse_json(body);
  if (!parsed) return parsed.error();
  if (!parsed->is_object()) return Error{Errc::invalid, "the body must be a JSON object with word and role"};
  PairRequest asked;
  std::string role;
  for (const auto& [name, value] : parsed->items()) {
    std::string* into = nullptr;
    if (name == "word") into = &asked.word;
    if (name == "role") into = &role;
    if (name == "station") into = &asked.device.station;
    if (name == "name") into = &asked.device.name;
    if (into == nullptr || !value.is_string()) {
      return Error{Errc::invalid, "\"" + name + "\" is no such member, or no text; there are word, role, station, name",
                   "/" + name};
    }
    *into = value.get<std::string>();
  }
  const auto known = role_named(role);
  if (!known) {
    return Error{Errc::invalid, "\"role\" is one of station, pass, floor, probe, manager", "/role"};
  }
  asked.device.role = *known;
  if (*known != Role::station && !asked.device.station.empty()) {
    return Error{Errc::invalid, "only a station's device names a station", "/station"};
  }
  if (*known == Role::station && stations.count(asked.device.station) == 0) {
    std::string list;
    for (const std::string& station : stations) list += (list.empty() ? "" : ", ") + station;
    return Error{Errc::unknown, fmt::format("there is no station \"{}\"; there are {}", asked.device.station, list),
                 "/station"};
  }
  return asked;
}

}  // namespace

std::string_view token_of(const HttpRequest& request) {
  if (const std::string_view token = bearer(request); !token.empty()) return token;
  std::string_view rest = request.header("cookie");
  while (!rest.empty()) {
    std::string_view pair = rest.substr(0, rest.find(';'));
    rest.remove_prefix(std::min(pair.size() + 1, rest.size()));
    while (pair.starts_with(' ')) pair.remove_prefix(1);
    if (pair.size() > token_cookie.size() && pair.starts_with(token_cookie) && pair[token_cookie.size()] == '=') {
      return pair.substr(token_cookie.size() + 1);
    }
  }
  return {};
}

HttpResponse refused_response(const Access::Refused& refused) {
  HttpResponse response = problem_response(refused.error, refused.status);
  if (refused.status == 401) response.headers.emplace_back("WWW-Authenticate", "Bearer realm=\"nappe\"");
  return response;
}

Access::Access(AccessParts parts, AccessLimits limits)
    : parts_(std::move(parts)),
      limits_(limits),
      this_machine_(manager_called("this machine")),
      console_(manager_called("console")) {}

// --- who asks ---

Access::Known Access::who(const HttpRequest& request, Clock::time_point now) {
  const std::string_view token = token_of(request);
  if (!token.empty()) {
    if (auto device = parts_.book.find(token)) return {std::move(device), {}};
    if (token == parts_.console_token) return {console_, {}};
  }
  if (!parts_.tokens_needed) return {this_machine_, {}};
  if (token.empty()) {
    return {nullptr, {{Errc::forbidden, "this device is not paired: it must ask first (POST /pair)"}, 401}};
  }
  if (wrong_.size() >= limits_.addresses_max && wrong_.count(request.from) == 0) wrong_.clear();
  const auto [at, fresh] =
      wrong_.try_emplace(request.from, limits_.wrong_tokens_per_second, limits_.wrong_tokens_at_once);
  if (!at->second.take(now)) {
    return {nullptr, {{Errc::too_many, "too many wrong tokens from this address: wait a moment"}, 429}};
  }
  return {nullptr, {{Errc::forbidden, "this token is not known here, or its pairing was ended: pair again"}, 401}};
}

std::size_t Access::sockets_of(const DevicePtr& device) const {
  const auto found = seats_.find(device);
  return found == seats_.end() ? 0 : found->second;
}

Result<Access::Seat> Access::take_seat(const DevicePtr& device) {
  const bool bounded = device != this_machine_ && device != console_;
  if (bounded && sockets_of(device) >= limits_.sockets_of_a_device_max) {
    return Error{Errc::too_many, fmt::format("{} has {} screens open already: close one", device->name,
                                             limits_.sockets_of_a_device_max)};
  }
  ++seats_[device];
  return Seat(device.get(), [this, device](const void*) {
    if (--seats_[device] == 0) seats_.erase(device);
  });
}

// --- what they ask ---

std::optional<HttpResponse> Access::answer(const HttpRequest& request, const Target& target, Clock::time_point now) {
  constexpr std::string_view one_device = "/devices/";
  const std::string& path = target.path;
  const bool reads = request.method == "GET" || request.method == "HEAD";
  if (path == "/pair") {
    if (request.method == "POST") return ask(request, now);
    return reads ? fetch(request, now) : not_for(request, path, "GET, HEAD, POST");
  }
  const bool named = path.starts_with(one_device) && path.size() > one_device.size();
  if (path != "/me" && path != "/devices" && !named) return std::nullopt;
  const Known known = who(request, now);
  if (!known.device) return refused_response(known.refused);
  if (path == "/me") {
    if (!reads) return not_for(request, path, "GET, HEAD");
    json me = device_json(*known.device);
    me["commands"] = commands_of(known.device->role);
    return json_response(me);
  }
  if (named) {
    if (request.method != "DELETE") return not_for(request, path, "DELETE");
    return revoke(known.device, path.substr(one_device.size()));
  }
  if (request.method == "POST") return pair(request, known.device, now);
  return reads ? list(known.device, now) : not_for(request, path, "GET, HEAD, POST");
}

HttpResponse Access::ask(const HttpRequest& request, Clock::time_point now) {
  const auto asked = parts_.pairing.ask(request.from, now);
  if (!asked) return problem_response(asked.error());
  log_info(fmt::format("pairing asked word={} from={}", asked->word, request.from));
  return json_response({{"word", asked->word}, {"secret", asked->secret}}, 201);
}

HttpResponse Access::fetch(const HttpRequest& request, Clock::time_point now) {
  const auto fetched = parts_.pairing.fetch(bearer(request), now);
  if (!fetched) return problem_response(fetched.error());
  if (!fetched->device) return json_response({{"state", "waiting"}, {"word", fetched->word}});
  json body = device_json(*fetched->device);
  body["state"] = "paired";
  body["token"] = fetched->token;
  HttpResponse response = json_response(body);
  // For a page: out of reach of its scripts, never sent from another site's page. As long as the pairing, in effect.
  response.headers.emplace_back(
      "Set-Cookie", fmt::format("{}={}; Path=/; Max-Age=31536000; HttpOnly; SameSite=Strict{}", token_cookie,
                                fetched->token, request.tls ? "; Secure" : ""));
  return response;
}

HttpResponse Access::list(const DevicePtr& who, Clock::time_point now) {
  if (const Status may = may_pair(*who, std::nullopt); !may) return problem_response(may.error());
  json devices = json::object();
  for (const DevicePtr& device : parts_.book.list()) {
    json one = device_json(*device);
    one["paired"] = to_rfc3339(device->paired);
    one["by"] = device->by;
    one["open"] = sockets_of(device);
    devices[device->name] = std::move(one);
  }
  json asking = json::object();
  for (const auto& waiting : parts_.pairing.waiting(now)) {
    asking[waiting.word] = {{"from", waiting.from}, {"for_s", waiting.since.count()}};
  }
  return json_response({{"devices", devices}, {"asking", asking}});
}

HttpResponse Access::pair(const HttpRequest& request, const DevicePtr& who, Clock::time_point now) {
  if (const Status may = may_pair(*who, std::nullopt); !may) return problem_response(may.error());
  if (!request.header("content-type").starts_with("application/json")) {
    return problem_response(Error{Errc::invalid, "send it as application/json"}, 415);
  }
  auto asked = read_pair_request(request.body, parts_.stations());
  if (!asked) return problem_response(asked.error());
  if (const Status may = may_pair(*who, asked->device.role); !may) return problem_response(may.error());
  if (const Status there = parts_.pairing.check(asked->word, now); !there) return problem_response(there.error());
  asked->device.paired = parts_.wall();
  asked->device.by = who->name;
  auto paired = parts_.book.add(asked->device);
  if (!paired) return problem_response(paired.error());
  log_info(fmt::format("paired device=\"{}\" role={} by=\"{}\"", paired->device->name, role_name(paired->device->role),
                       who->name));
  parts_.pairing.answer(asked->word, paired->device, std::move(paired->token));
  return json_response(device_json(*paired->device), 201);
}

HttpResponse Access::revoke(const DevicePtr& who, const std::string& name) {
  if (const Status may = may_pair(*who, std::nullopt); !may) return problem_response(may.error());
  const auto all = parts_.book.list();
  const auto meant = std::find_if(all.begin(), all.end(), [&](const DevicePtr& one) { return one->name == name; });
  if (meant != all.end()) {
    if (const Status may = may_pair(*who, (*meant)->role); !may) return problem_response(may.error());
  }
  const auto gone = parts_.book.revoke(name, parts_.wall());
  if (!gone) return problem_response(gone.error());
  log_info(fmt::format("pairing ended device=\"{}\" by=\"{}\"", name, who->name));
  const auto open = guests_;
  for (Guest* guest : open) {
    if (guest->device() == *gone) guest->pairing_ended();
  }
  return json_response(device_json(**gone));
}

}  // namespace nappe::server
