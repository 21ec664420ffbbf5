#include "client/night.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "client/words.hpp"
#include "common/words.hpp"

namespace nappe::client {
namespace {

using Json = nlohmann::json;

constexpr Duration table_turn = minutes(12);  // From the last pudding to the next party at the table.
constexpr Duration try_again = seconds(20);
constexpr Duration late_by = minutes(5);  // A course counts as late beyond this.
constexpr int tries_max = 4;

}  // namespace

Night::Night(const kitchen::Kitchen& kitchen, const kitchen::BookingSheet& sheet,
             const kitchen::IncidentSheet& incidents, Instant midnight, std::uint64_t seed)
    : kitchen_(kitchen), midnight_(midnight), draws_(seed), cooks_(kitchen, draws_), expediter_(kitchen, draws_) {
  parties_ = parties(sheet, incidents, midnight, draws_);
  first_ = Instant::max();
  for (const Party& party : parties_) {
    first_ = std::min(first_, midnight + party.booking.at);
    seats_.push_back({party, Seat::At::coming, order_of(party.booking, kitchen, draws_), 0, 0, {}});
    for (const kitchen::GuestNote& guest : party.booking.guests) {
      if (guest.told)
        told_.push_back({party.booking.id, guest.position, guest.allergies, midnight + *guest.told, false});
    }
  }
  for (const kitchen::Incident& incident : incidents.incidents)
    incidents_.push_back({incident, midnight + incident.at, false});
}

void Night::say(Instant at, const std::string& line) {
  const Duration offset = minutes(kitchen_.settings.utc_offset_minutes);
  lines_.push_back(clock_text(at, offset) + " " + line);
}

std::vector<std::string> Night::take_lines() { return std::exchange(lines_, {}); }

bool Night::table_busy(const PassScreen& pass, const std::string& table, Instant now) const {
  for (const CourseLine& course : pass.courses) {
    if (course.table == table && course.state != "gone") return true;
  }
  const auto cleared = cleared_.find(table);
  return cleared != cleared_.end() && now < cleared->second + table_turn;
}

const CourseLine* Night::course_of(const PassScreen& pass, const std::string& table, const std::string& course) const {
  for (const CourseLine& line : pass.courses) {
    if (line.table == table && line.course == course) return &line;
  }
  return nullptr;
}

void Night::guests(const PassScreen& pass, Instant now, std::vector<Deed>& out) {
  for (Seat& seat : seats_) {
    const kitchen::Booking& booking = seat.party.booking;
    if ((seat.at == Seat::At::coming && seat.party.arrives <= now) || seat.at == Seat::At::waiting) {
      const bool taken = std::any_of(seats_.begin(), seats_.end(), [&](const Seat& other) {
        return other.party.booking.table == booking.table && other.at == Seat::At::seated;
      });
      if (taken || table_busy(pass, booking.table, now)) {
        if (seat.at == Seat::At::coming)
          say(now, fmt::format("table {}: {} for it wait, it is not free", booking.table, booking.covers));
        seat.at = Seat::At::waiting;
        continue;
      }
      seat.at = Seat::At::seated;
      seat.orders = std::max(now, seat.party.arrives) + (seat.party.orders - seat.party.arrives);
      say(now, fmt::format("table {}: {} sit down", booking.table, booking.covers));
    }
    if (seat.at != Seat::At::seated || seat.orders > now) continue;
    if (seat.order.courses.empty() || seat.tries >= tries_max) {
      seat.at = Seat::At::lost;
      say(now, fmt::format("table {}: nothing could be ordered", booking.table));
      continue;
    }
    seat.orders = now + try_again;  // Should no answer come.
    Deed act;
    act.kind = Deed::Kind::ticket;
    act.at = now;
    act.by = "Wren";
    act.order = seat.order;
    act.booking = booking.id;
    act.key = fmt::format("{}-{}", booking.id, seat.tries);
    out.push_back(std::move(act));
  }
}

void Night::ticket_sent(const std::string& booking, int ticket) {
  for (Seat& seat : seats_) {
    if (seat.party.booking.id != booking || seat.at == Seat::At::ordered) continue;
    seat.at = Seat::At::ordered;
    seat.ticket = ticket;
    say(seat.orders - try_again, fmt::format("table {} orders, ticket {}", seat.party.booking.table, ticket));
  }
}

// The sentence names what cannot be had; whatever dish of the order it names is replaced.
void Night::ticket_refused(const std::string& booking, const std::string& sentence, Instant now) {
  ++refusals_;
  for (Seat& seat : seats_) {
    if (seat.party.booking.id != booking) continue;
    ++seat.tries;
    say(now, fmt::format("table {} cannot order so: {}", seat.party.booking.table, sentence));
    for (const kitchen::Dish& dish : kitchen_.dishes) {
      if (sentence.find(dish.name) == std::string::npos && sentence.find(dish.id) == std::string::npos) continue;
      seat.order = without(std::move(seat.order), dish.id, kitchen_);
    }
    seat.orders = now + try_again;
  }
}

void Night::refused(const Deed& act, Instant now) {
  ++refusals_;
  const auto bar = act.ask.item.find('|');
  if (bar == std::string::npos) return expediter_.refused(act.ask, now);
  cooks_.refused(act.ask.item.substr(0, bar), act.ask.item.substr(bar + 1), now);
}

void Night::late_allergies(Instant now, std::vector<Deed>& out) {
  for (Told& told : told_) {
    if (told.done || told.at > now) continue;
    const auto seat = std::find_if(seats_.begin(), seats_.end(),
                                   [&](const Seat& one) { return one.party.booking.id == told.booking; });
    if (seat == seats_.end() || seat->ticket == 0) continue;
    told.done = true;
    Deed act;
    act.at = now;
    act.by = "Wren";
    act.ask.action =
        Json{{"tell_allergy", {{"ticket", seat->ticket}, {"position", told.position}, {"allergies", told.allergies}}}}
            .dump();
    act.ask.says = fmt::format("table {}: position {} is allergic: {}", seat->party.booking.table, told.position,
                               fmt::join(told.allergies, ", "));
    say(now, act.ask.says);
    out.push_back(std::move(act));
  }
}

// The ticket at this table whose course has left the pass, also when it is no longer on the screen; 0: none.
int Night::ticket_that_left(const std::string& table, const std::string& course) const {
  for (const Seat& seat : seats_) {
    if (seat.party.booking.table != table || seat.ticket == 0) continue;
    if (gone_.count(fmt::format("{}-{}", seat.ticket, course)) != 0) return seat.ticket;
  }
  return 0;
}

std::optional<Deed> Night::act_on(const kitchen::Incident& incident, const PassScreen& pass, Instant now) {
  using Kind = kitchen::IncidentKind;
  Deed act;
  act.at = now;
  act.by = "Mara";
  act.ask.says = incident.words;
  switch (incident.kind) {
    case Kind::lost:
    case Kind::runs_out:
      if (incident.kind == Kind::runs_out) return {};  // It runs out by itself.
      act.ask.action = Json{{"set_left", {{"dish", incident.dish}, {"left", incident.left.value_or(0)}}}}.dump();
      return act;
    case Kind::sent_back: {
      const int ticket = ticket_that_left(incident.table, incident.course);
      act.ask.action = Json{{"refire",
                             {{"ticket", ticket},
                              {"course", incident.course},
                              {"position", incident.position},
                              {"components", Json::array()},
                              {"reason", incident.why}}}}
                           .dump();
      act.ask.item = fmt::format("{}-{}", ticket, incident.course);
      return act;
    }
    case Kind::person_away: {
      for (const kitchen::Station& station : kitchen_.stations) {
        for (const kitchen::Person& person : station.people) {
          if (person.id != incident.person) continue;
          away_.push_back({station.id, person.id, now + incident.lasts});
          act.ask.action =
              Json{{"set_hands", {{"station", station.id}, {"person", person.id}, {"present", false}}}}.dump();
          return act;
        }
      }
      return {};
    }
    case Kind::guest_away: {
      const CourseLine* course = course_of(pass, incident.table, incident.course);
      if (course != nullptr) expediter_.not_before(course->key, now + minutes(3));
      return {};
    }
    case Kind::booking_cancelled:
    case Kind::cue_late:
    case Kind::allergy_told:
    case Kind::arrives:
    case Kind::network_cut:
    case Kind::table_wanted:
    case Kind::power:
      return {};
  }
  return {};
}

void Night::happenings(const PassScreen& pass, Instant now, std::vector<Deed>& out) {
  for (Incident& incident : incidents_) {
    if (incident.done || incident.at > now) continue;
    // A plate can only come back when it has gone: a late course is sent back later.
    if (incident.what.kind == kitchen::IncidentKind::sent_back) {
      if (ticket_that_left(incident.what.table, incident.what.course) == 0) continue;
    }
    incident.done = true;
    if (auto act = act_on(incident.what, pass, now)) {
      say(now, incident.what.words);
      out.push_back(std::move(*act));
    }
  }
  for (Back& back : away_) {
    if (back.at > now) continue;
    Deed act;
    act.at = now;
    act.by = "Mara";
    act.ask.action =
        Json{{"set_hands", {{"station", back.station}, {"person", back.person}, {"present", true}}}}.dump();
    act.ask.says = back.person + " is back at " + back.station;
    say(now, act.ask.says);
    out.push_back(std::move(act));
  }
  std::erase_if(away_, [now](const Back& back) { return back.at <= now; });
}

// What is worth a line: courses that left, and how late.
void Night::watch(const PassScreen& pass) {
  for (const CourseLine& course : pass.courses) {
    if (course.meet && course.state != "gone") promised_.emplace(course.key, *course.meet);
    if (course.state != "gone" || !course.gone || gone_.count(course.key) != 0) continue;
    gone_[course.key] = *course.gone;
    auto& cleared = cleared_[course.table];
    cleared = std::max(cleared, *course.gone);
    plates_ += course.covers;
    spread_sum_ += course.spread;
    const auto promised = promised_.find(course.key);
    const Duration late = promised == promised_.end() ? Duration::zero() : *course.gone - promised->second;
    if (late > late_by) late_.insert(course.key);
    std::string line = fmt::format("table {} {} gone, spread {}", course.table, course.name, countdown(course.spread));
    if (late >= seconds(60)) line += ", " + countdown(late) + " after its first promise";
    say(*course.gone, line);
  }
}

std::vector<Deed> Night::step(const PassScreen& pass, const std::map<std::string, StationScreen>& stations,
                              Instant now) {
  std::vector<Deed> out;
  watch(pass);
  guests(pass, now, out);
  late_allergies(now, out);
  happenings(pass, now, out);
  for (Ask& ask : expediter_.step(pass, now)) {
    Deed act;
    act.at = now;
    act.by = "Mara";
    act.ask = std::move(ask);
    out.push_back(std::move(act));
  }
  for (const auto& [id, screen] : stations) {
    for (CookPress& press : cooks_.step(screen, now)) {
      Deed act;
      act.at = press.at;
      act.by = id;
      act.ask = std::move(press.ask);
      act.ask.item = id + "|" + act.ask.item;
      out.push_back(std::move(act));
    }
  }
  return out;
}

std::optional<Instant> Night::next(const PassScreen& pass, const std::map<std::string, StationScreen>& stations,
                                   Instant now) const {
  std::optional<Instant> first;
  const auto consider = [&](std::optional<Instant> at) {
    if (at && (!first || *at < *first)) first = at;
  };
  for (const Seat& seat : seats_) {
    if (seat.at == Seat::At::coming) consider(seat.party.arrives);
    if (seat.at == Seat::At::waiting) consider(now + try_again);
    if (seat.at == Seat::At::seated) consider(seat.orders);
  }
  for (const Told& told : told_) {
    if (!told.done) consider(std::max(told.at, now + try_again));
  }
  for (const Incident& incident : incidents_) {
    if (!incident.done) consider(incident.at);
  }
  for (const Back& back : away_) consider(back.at);
  consider(expediter_.next(pass, now));
  for (const auto& [id, screen] : stations) consider(cooks_.next(screen, now));
  return first;
}

bool Night::over(const PassScreen& pass) const {
  const bool all = std::all_of(seats_.begin(), seats_.end(), [](const Seat& seat) {
    return seat.at == Seat::At::ordered || seat.at == Seat::At::lost;
  });
  return all && std::all_of(pass.courses.begin(), pass.courses.end(),
                            [](const CourseLine& course) { return course.state == "gone"; });
}

std::string Night::sum(const PassScreen&) const {
  const auto tables =
      std::count_if(seats_.begin(), seats_.end(), [](const Seat& s) { return s.at == Seat::At::ordered; });
  const auto courses = static_cast<std::int64_t>(gone_.size());
  const Duration spread = courses == 0 ? Duration::zero() : spread_sum_ / courses;
  return fmt::format("{}, {}, {}; {} more than {} late; spread {} in the mean; {}", counted(tables, "table"),
                     counted(courses, "course"), counted(plates_, "plate"),
                     counted(static_cast<std::int64_t>(late_.size()), "course"), countdown(late_by), countdown(spread),
                     counted(refusals_, "refusal"));
}

}  // namespace nappe::client
