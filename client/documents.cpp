#include "client/documents.hpp"

#include <algorithm>
#include <nlohmann/json.hpp>

namespace nappe::client {
namespace {

using Json = nlohmann::json;

const Json& empty_object() {
  static const Json empty = Json::object();
  return empty;
}

// The member if it is an object, else an empty one: so that a chain of reads needs no checks.
const Json& object(const Json& in, const char* name) {
  if (!in.is_object()) return empty_object();
  const auto found = in.find(name);
  return found != in.end() && found->is_object() ? *found : empty_object();
}

const Json* member(const Json& in, const char* name) {
  if (!in.is_object()) return nullptr;
  const auto found = in.find(name);
  return found == in.end() ? nullptr : &*found;
}

std::string text(const Json& in, const char* name) {
  const Json* found = member(in, name);
  return found != nullptr && found->is_string() ? found->get<std::string>() : std::string();
}

std::optional<double> number(const Json& in, const char* name) {
  const Json* found = member(in, name);
  return found != nullptr && found->is_number() ? std::optional<double>(found->get<double>()) : std::nullopt;
}

int whole(const Json& in, const char* name, int otherwise = 0) {
  const auto found = number(in, name);
  return found && *found > -1e9 && *found < 1e9 ? static_cast<int>(*found) : otherwise;
}

bool yes(const Json& in, const char* name) {
  const Json* found = member(in, name);
  return found != nullptr && found->is_boolean() && found->get<bool>();
}

// Instants and lengths outside +-300 years are nonsense and count as absent.
std::optional<std::int64_t> milliseconds(const Json& in, const char* name) {
  const auto found = number(in, name);
  if (!found || *found < -1e13 || *found > 1e13) return {};
  return static_cast<std::int64_t>(*found);
}

std::optional<Instant> instant_if(const Json& in, const char* name) {
  const auto ms = milliseconds(in, name);
  return ms ? std::optional<Instant>(from_ms(*ms)) : std::nullopt;
}
Instant instant(const Json& in, const char* name) { return from_ms(milliseconds(in, name).value_or(0)); }
Duration length(const Json& in, const char* name) { return Duration(milliseconds(in, name).value_or(0)); }

Service read_service(const Json& document) {
  const Json& in = object(document, "service");
  return {text(in, "name"), yes(in, "open"), minutes(whole(in, "utc_offset_minutes")), instant_if(in, "closed_ms")};
}

std::vector<Person> read_people(const Json& in) {
  std::vector<Person> out;
  for (const auto& [id, person] : in.items()) out.push_back({id, text(person, "name"), yes(person, "present")});
  return out;
}

std::vector<AlertLine> read_alerts(const Json& document) {
  std::vector<AlertLine> out;
  for (const auto& [key, in] : object(document, "alerts").items()) {
    out.push_back({key, whole(in, "alert"), text(in, "says"), text(in, "do"), instant(in, "since_ms"),
                   yes(in, "answered"), yes(in, "escalated"), instant_if(in, "shelved_until_ms"), whole(in, "rank")});
  }
  std::stable_sort(out.begin(), out.end(), [](const auto& a, const auto& b) { return a.rank < b.rank; });
  return out;
}

std::map<Instant, double> read_slots(const Json& in) {
  std::map<Instant, double> out;
  for (const auto& [slot, share] : in.items()) {
    char* end = nullptr;
    const long long ms = std::strtoll(slot.c_str(), &end, 10);
    if (*end == '\0' && share.is_number()) out[from_ms(ms)] = share.get<double>();
  }
  return out;
}

Item read_item(const std::string& key, const Json& in) {
  Item item;
  item.key = key;
  item.pan = whole(in, "pan");
  item.letter = text(in, "letter");
  item.vessel = text(in, "vessel");
  item.step = text(in, "step");
  item.round = whole(in, "round");
  item.move = text(in, "move");
  item.what = text(in, "what");
  item.n = whole(in, "n");
  item.tables = text(in, "tables");
  item.words = text(in, "words");
  item.change = text(in, "change");
  item.how = text(in, "how");
  item.at = instant(in, "at_ms");
  item.soonest = instant(in, "soonest_ms");
  item.takes = length(in, "takes_ms");
  item.state = text(in, "state");
  item.started = instant_if(in, "started_ms");
  item.usual = instant_if(in, "usual_ms");
  item.most = instant_if(in, "most_ms");
  item.over = text(in, "over");
  if (const Json& cue = object(in, "cue"); !cue.empty()) {
    item.cue = CueWords{text(cue, "look"), text(cue, "sound"), text(cue, "taste"), text(cue, "too_far"),
                        number(cue, "core_c")};
  }
  if (const Json& rounds = object(in, "rounds"); !rounds.empty()) {
    item.rounds = RoundsOf{whole(rounds, "usual", 1), whole(rounds, "min", 1), whole(rounds, "max", 1),
                           text(rounds, "word"), yes(rounds, "can_end")};
  }
  if (const Json& rest = object(in, "rest"); !rest.empty()) {
    item.rest = RestOf{instant(rest, "from_ms"), instant(rest, "min_ms"), instant(rest, "max_ms")};
  }
  item.plate = yes(in, "plate");
  item.guess = yes(in, "guess");
  item.allergy = yes(in, "allergy");
  return item;
}

HeatItem read_heat(const Json& in) {
  return {whole(in, "pan"),       text(in, "letter"), text(in, "what"),         whole(in, "n"),
          text(in, "tables"),     text(in, "doing"),  text(in, "kind"),         instant(in, "from_ms"),
          instant(in, "next_ms"), text(in, "then"),   instant_if(in, "max_ms"), text(in, "over")};
}

Thread read_thread(const std::string& key, const Json& in) {
  Thread thread;
  thread.key = key;
  thread.pan = whole(in, "pan");
  thread.what = text(in, "what");
  thread.letter = text(in, "letter");
  thread.station = text(in, "station");
  thread.n = whole(in, "n");
  thread.state = text(in, "state");
  thread.from = instant(in, "from_ms");
  thread.to = instant(in, "to_ms");
  thread.can_wait = yes(in, "can_wait");
  thread.cue_open = yes(in, "cue_open");
  const Json& rest = object(in, "rest");
  thread.rest_min = instant_if(rest, "min_ms");
  thread.rest_max = instant_if(rest, "max_ms");
  thread.until = instant_if(in, "until_ms");
  thread.shared = text(in, "shared");
  thread.words = text(in, "words");
  thread.over = text(in, "over");
  return thread;
}

std::vector<PlateLine> read_plates(const Json& course) {
  std::vector<PlateLine> out;
  for (const auto& [position, in] : object(course, "plates").items()) {
    out.push_back({std::atoi(position.c_str()),
                   text(in, "dish"),
                   text(in, "name"),
                   text(in, "state"),
                   instant_if(in, "until_ms"),
                   text(in, "words"),
                   text(in, "change"),
                   text(in, "missing"),
                   {}});
    for (const auto& [component, name] : object(in, "parts").items())
      out.back().parts.emplace_back(component, name.is_string() ? name.get<std::string>() : component);
  }
  std::sort(out.begin(), out.end(), [](const auto& a, const auto& b) { return a.position < b.position; });
  return out;
}

CourseLine read_course(const std::string& ticket_key, const Json& table, const std::string& id, const Json& in) {
  CourseLine course;
  course.key = ticket_key + "-" + id;
  course.ticket = whole(table, "ticket");
  course.table = text(table, "table");
  course.room = text(table, "room");
  course.walk = length(table, "walk_ms");
  course.note = text(table, "note");
  for (const auto& [position, words] : object(table, "allergies").items()) {
    if (words.is_string()) course.allergies[position] = words.get<std::string>();
  }
  course.course = id;
  course.name = text(in, "name");
  course.order = whole(in, "order");
  course.covers = whole(in, "covers");
  course.state = text(in, "state");
  course.meet = instant_if(in, "meet_ms");
  course.expected = instant_if(in, "expected_ms");
  course.word = instant_if(in, "word_ms");
  course.could = instant_if(in, "could_ms");
  course.gone = instant_if(in, "gone_ms");
  course.drift = length(in, "drift_ms");
  course.spread = length(in, "spread_ms");
  course.pull = text(in, "pull");
  course.pause = text(object(table, "pause"), "why");
  course.pause_until = instant_if(object(table, "pause"), "until_ms");
  course.latest = instant_if(in, "latest_ms");
  course.latest_what = text(in, "latest_what");
  const Json& carry = object(in, "carry");
  course.hands = whole(carry, "hands");
  course.call = instant_if(carry, "call_ms");
  for (const auto& [key, trip] : object(carry, "trips").items())
    if (trip.is_string()) course.trips.push_back(trip.get<std::string>());
  for (const auto& [key, thread] : object(in, "threads").items()) course.threads.push_back(read_thread(key, thread));
  std::stable_sort(course.threads.begin(), course.threads.end(), [&](const Thread& a, const Thread& b) {
    if ((a.key == course.pull) != (b.key == course.pull)) return a.key == course.pull;
    return a.to > b.to;
  });
  course.plates = read_plates(in);
  return course;
}

template <class T>
void by_end(std::vector<T>& lines) {
  std::stable_sort(lines.begin(), lines.end(), [](const T& a, const T& b) {
    return a.until.value_or(Instant::max()) < b.until.value_or(Instant::max());
  });
}

}  // namespace

const Item* StationScreen::find(const std::string& key) const {
  const auto found = std::find_if(list.begin(), list.end(), [&](const Item& item) { return item.key == key; });
  return found == list.end() ? nullptr : &*found;
}

const CourseLine* PassScreen::find(const std::string& key) const {
  const auto found =
      std::find_if(courses.begin(), courses.end(), [&](const auto& course) { return course.key == key; });
  return found == courses.end() ? nullptr : &*found;
}

StationScreen read_station(const Json& document) {
  StationScreen out;
  out.service = read_service(document);
  out.id = text(object(document, "station"), "id");
  out.name = text(object(document, "station"), "name");
  out.hands = read_people(object(document, "hands"));
  out.next = text(document, "next");
  for (const auto& [key, in] : object(document, "list").items()) out.list.push_back(read_item(key, in));
  std::sort(out.list.begin(), out.list.end(),
            [](const Item& a, const Item& b) { return a.at != b.at ? a.at < b.at : a.key < b.key; });
  for (const auto& [key, in] : object(document, "heat").items()) out.heat.push_back(read_heat(in));
  std::stable_sort(out.heat.begin(), out.heat.end(), [](const auto& a, const auto& b) { return a.next < b.next; });
  for (const auto& [key, in] : object(document, "standing").items()) {
    out.standing.push_back(
        {text(in, "what"), whole(in, "n"), text(in, "tables"), instant(in, "since_ms"), instant_if(in, "until_ms")});
  }
  by_end(out.standing);
  const Json& behind = object(document, "behind");
  out.behind = length(behind, "ms");
  out.nobody = yes(behind, "nobody");
  out.behind_from = instant_if(behind, "from_ms");
  out.behind_table = text(behind, "table");
  for (const auto& [station, sentence] : object(document, "waits").items()) {
    if (sentence.is_string()) out.waits.push_back(sentence.get<std::string>());
  }
  out.undo_what = text(object(document, "undo"), "what");
  out.undo_until = instant_if(object(document, "undo"), "until_ms");
  out.alerts = read_alerts(document);
  out.load = read_slots(object(document, "load"));
  out.colour = text(document, "colour");
  out.quiet_since = instant_if(document, "quiet_since_ms");
  return out;
}

PassScreen read_pass(const Json& document) {
  PassScreen out;
  out.service = read_service(document);
  for (const auto& [id, in] : object(document, "stations").items()) {
    out.stations.push_back(
        {id, text(in, "name"), whole(in, "order"), number(in, "hands").value_or(0), read_people(object(in, "people"))});
  }
  std::stable_sort(out.stations.begin(), out.stations.end(),
                   [](const auto& a, const auto& b) { return a.order < b.order; });
  for (const auto& [key, table] : object(document, "tables").items()) {
    for (const auto& [id, in] : object(table, "courses").items()) {
      out.courses.push_back(read_course(key, table, id, in));
    }
  }
  for (const auto& [key, in] : object(document, "standing").items()) {
    out.standing.push_back({key, whole(in, "ticket"), text(in, "table"), text(in, "course"), whole(in, "up"),
                            whole(in, "of"), instant_if(in, "until_ms"), length(in, "walk_ms"), text(in, "missing"),
                            yes(in, "send_now")});
  }
  by_end(out.standing);
  for (const auto& [id, in] : object(document, "short").items()) {
    out.hands_short.push_back(
        {text(in, "name"), text(in, "table"), length(in, "behind_ms"), instant_if(in, "from_ms"), yes(in, "nobody")});
  }
  std::stable_sort(out.hands_short.begin(), out.hands_short.end(), [](const auto& a, const auto& b) {
    return std::pair(a.nobody, a.behind) > std::pair(b.nobody, b.behind);
  });
  for (const auto& [id, slots] : object(document, "load").items()) out.load[id] = read_slots(slots);
  for (const auto& [id, in] : object(document, "off").items()) out.off.push_back({text(in, "name"), whole(in, "left")});
  for (const auto& [id, in] : object(document, "lend").items())
    out.lend.push_back({id, text(in, "what"), text(in, "table"), whole(in, "ticket"), instant(in, "until_ms")});
  out.wanted = read_wanted(document);
  out.alerts = read_alerts(document);
  out.colour = text(document, "colour");
  return out;
}

std::vector<WantedLine> read_wanted(const Json& document) {
  std::vector<WantedLine> out;
  for (const auto& [key, in] : object(document, "wanted").items())
    out.push_back({text(in, "table"), text(in, "says"), instant(in, "booked_ms"), instant(in, "free_ms")});
  std::stable_sort(out.begin(), out.end(), [](const auto& a, const auto& b) { return a.booked < b.booked; });
  return out;
}

}  // namespace nappe::client
