#include <algorithm>
#include <stdexcept>

#include "common/kitchen/load.hpp"
#include "common/line/chain.hpp"
#include "common/line/line.hpp"
#include "common/line/seating.hpp"

namespace nappe::line {
namespace {

using kitchen::Component;

// A journal that names what is not there is damaged: say what, and stop.
[[noreturn]] void does_not_fit(const std::string& what) {
  throw std::logic_error("event does not fit the service: " + what);
}

template <class Map, class Key>
auto& existing(Map& map, const Key& key, const char* what) {
  const auto found = map.find(key);
  if (found == map.end()) does_not_fit(std::string("no such ") + what);
  return found->second;
}

class Applier {
 public:
  Applier(State& state, Instant at) : s_(state), at_(at) {}

  void operator()(const ServiceOpened& e) {
    auto loaded = kitchen::from_document(e.document);
    if (!loaded) does_not_fit("kitchen " + e.version + ": " + kitchen::to_string(loaded.faults.front()));
    auto kitchen = std::make_shared<const kitchen::Kitchen>(std::move(*loaded.value));
    if (s_.service == ServiceState::closed) {
      State fresh;
      if (s_.kept) fresh.kept = std::make_shared<const Record>(carried_over(*s_.kept, at_));
      s_ = fresh;
      s_.service = ServiceState::open;
      s_.opened = at_;
      s_.name = e.name;
      for (const auto& station : kitchen->stations)
        for (const auto& person : station.people) s_.hands[station.id].insert(person.id);
    }
    s_.kitchens[e.version] = kitchen;
    s_.kitchen = kitchen;
  }
  void operator()(const ServiceClosed&) {
    s_.service = ServiceState::closed;
    s_.closed = at_;
    s_.pans.clear();
    s_.past.clear();
    s_.alerts.clear();
    s_.presses.clear();
  }
  void operator()(const HandsSet& e) {
    auto& present = s_.hands[e.station];
    if (e.present)
      present.insert(e.person);
    else
      present.erase(e.person);
  }
  void operator()(const LeftSet& e) {
    if (e.left)
      s_.left[e.dish] = *e.left;
    else
      s_.left.erase(e.dish);
  }

  void operator()(const TicketSent& e) {
    Ticket ticket;
    ticket.id = e.ticket;
    ticket.table = e.order.table;
    ticket.version = e.version;
    ticket.sent = at_;
    ticket.note = e.order.note;
    ticket.words = !e.order.note.empty();
    for (const Guest& guest : e.order.guests) ticket.allergies[guest.position] = in_order(guest.allergies);
    for (const CourseOrder& ordered : e.order.courses) {
      Course course;
      course.course = ordered.course;
      for (const Wanted& wanted : ordered.plates) {
        Plate plate;
        plate.wanted = wanted;
        ticket.words = ticket.words || !wanted.change.empty();
        course.plates[wanted.position] = plate;
        promise(wanted.dish, 1);
      }
      ticket.courses.push_back(std::move(course));
    }
    s_.tickets[e.ticket] = std::move(ticket);
    s_.tickets_made = std::max(s_.tickets_made, number(e.ticket));
  }
  void operator()(const PlateChanged& e) {
    Ticket& ticket = existing(s_.tickets, e.ticket, "ticket");
    Course* course = ticket.find_course(e.course);
    if (course == nullptr) {
      ticket.courses.push_back({});
      course = &ticket.courses.back();
      course->course = e.course;
      sort_courses(s_, ticket);
      course = ticket.find_course(e.course);
    }
    const auto before = course->plates.find(e.plate.position);
    if (before != course->plates.end()) promise(before->second.wanted.dish, -1);
    if (e.plate.dish.empty()) {
      course->plates.erase(e.plate.position);
      return;
    }
    promise(e.plate.dish, 1);
    ticket.words = ticket.words || !e.plate.change.empty();
    Plate plate;
    plate.wanted = e.plate;
    course->plates[e.plate.position] = plate;
  }
  void operator()(const AllergyTold& e) {
    auto& known = existing(s_.tickets, e.ticket, "ticket").allergies[e.position];
    known.insert(known.end(), e.allergies.begin(), e.allergies.end());
    known = in_order(std::move(known));
  }
  void operator()(const TicketCancelled& e) {
    Ticket& ticket = existing(s_.tickets, e.ticket, "ticket");
    ticket.cancelled = true;
    ticket.words = ticket.words || !e.reason.empty();
    for (const Course& course : ticket.courses)
      for (const auto& [position, plate] : course.plates)
        if (!plate.gone) promise(plate.wanted.dish, -1);
  }

  void operator()(const PositionsMoved& e) {
    const Ticket& from = existing(s_.tickets, e.from, "ticket");
    words_go_along(from, existing(s_.tickets, e.to, "ticket"));
    move_positions(s_, e);
  }
  void operator()(const TableChanged& e) {
    Ticket& ticket = existing(s_.tickets, e.ticket, "ticket");
    ticket.table = e.table;
    ticket.joined.clear();
  }
  void operator()(const TicketSplit& e) {
    const Ticket& from = existing(s_.tickets, e.ticket, "ticket");
    Ticket ticket;
    ticket.id = e.into;
    ticket.table = e.table;
    ticket.version = from.version;
    ticket.sent = from.sent;
    ticket.note = from.note;
    ticket.order = from.order == TicketId{} ? from.id : from.order;
    words_go_along(from, ticket);
    s_.tickets[e.into] = std::move(ticket);
    s_.tickets_made = std::max(s_.tickets_made, number(e.into));
  }
  void operator()(const TicketMerged& e) {
    Ticket& ticket = existing(s_.tickets, e.ticket, "ticket");
    Ticket& into = existing(s_.tickets, e.into, "ticket");
    ticket.merged = e.into;
    ticket.pause.reset();
    if (ticket.table != into.table) into.joined.push_back(ticket.table);
    into.joined.insert(into.joined.end(), ticket.joined.begin(), ticket.joined.end());
  }
  void operator()(const TablePaused& e) {
    Pause pause{e.why, at_, {}};
    if (e.until_ms) pause.until = from_ms(*e.until_ms);
    existing(s_.tickets, e.ticket, "ticket").pause = pause;
  }
  void operator()(const TableResumed& e) { existing(s_.tickets, e.ticket, "ticket").pause.reset(); }
  void operator()(const PaceAsked& e) { existing(s_.tickets, e.ticket, "ticket").pace += minutes(e.minutes); }
  void operator()(const ClearGuessed& e) {
    Course& course = course_of(e.ticket, e.course);
    course.clear.reset();
    course.clear_sd.reset();
    if (e.clear_ms) course.clear = from_ms(*e.clear_ms);
    if (e.clear_ms && e.sd_ms) course.clear_sd = Duration(*e.sd_ms);
  }
  void operator()(const BookingsTaken& e) { s_.bookings = e.bookings; }

  void operator()(const PanOpened& e) {
    Pan pan;
    pan.id = e.pan;
    pan.component = e.component;
    pan.station = e.station;
    pan.version = e.version;
    pan.allergies = e.allergies;
    pan.refire = e.refire;
    for (const PlateKey& plate : e.plates) pan.portions.push_back({plate, {}});
    const auto& component = s_.component_of(pan);
    pan.place = {0, component.steps.front().group >= 0 ? 1 : 0};
    s_.pans[e.pan] = std::move(pan);
    s_.pans_made = std::max(s_.pans_made, number(e.pan));
  }
  void operator()(const LetterGiven& e) { pan(e.pan).letter = e.letter; }
  void operator()(const PanDropped& e) {
    if (s_.pans.erase(e.pan) == 0) does_not_fit("no such pan");
  }
  void operator()(const PortionsMoved& e) {
    Pan& to = pan(e.to);
    Pan& from = pan(e.from);
    for (const PlateKey& plate : e.plates) {
      const Portion* portion = from.portion_of(plate);
      if (portion == nullptr) does_not_fit("no such portion");
      to.portions.push_back(*portion);
      if (to.begun()) ++to.cooked;
      erase_portion(from, plate);
    }
  }
  void operator()(const PortionFreed& e) {
    Pan& p = pan(e.pan);
    erase_portion(p, e.plate);
    if (!p.portions.empty() && all_gone(p)) s_.past.insert(s_.pans.extract(e.pan));
  }

  void operator()(const CourseFired& e) {
    Course& course = course_of(e.ticket, e.course);
    course.state = CourseState::fired;
    course.fired_at = at_;
    course.meet = from_ms(e.meet_ms);
  }
  void operator()(const CourseUnfired& e) {
    Course& course = course_of(e.ticket, e.course);
    course.state = CourseState::waiting;
    course.fired_at.reset();
    course.meet.reset();
  }
  void operator()(const CourseHeld& e) { course_of(e.ticket, e.course).state = CourseState::held; }
  void operator()(const CourseReleased& e) {
    Course& course = course_of(e.ticket, e.course);
    course.state = CourseState::fired;
    course.meet = from_ms(e.meet_ms);
  }
  void operator()(const MeetMoved& e) { course_of(e.ticket, e.course).meet = from_ms(e.meet_ms); }

  void operator()(const StepStarted& e) {
    Pan& p = pan(e.pan);
    if (p.running() != nullptr) does_not_fit("a step begins while another runs");
    if (!p.begun()) p.cooked = static_cast<int>(p.portions.size());
    p.place = {step_index(p, e.step), e.round};
    Run run;
    run.step = p.place.step;
    run.round = e.round;
    run.started = from_ms(e.at_ms);
    run.start_inferred = e.inferred;
    p.runs.push_back(run);
  }
  void operator()(const StepEnded& e) {
    Pan& p = pan(e.pan);
    if (p.running() == nullptr || p.place.step != step_index(p, e.step) || p.place.round != e.round)
      does_not_fit("step " + e.step + " ends and was not running");
    Run& run = p.runs.back();
    run.ended = from_ms(e.at_ms);
    run.end_inferred = e.inferred;
    if (const auto next = next_place(s_.component_of(p), p, p.place)) {
      p.place = *next;
      return;
    }
    p.finished = run.ended;
    for (Portion& portion : p.portions)
      if (!portion.plated) portion.plated = run.ended;
  }
  void operator()(const Pressed& e) { s_.presses[e.station] = Press{e.pan, e.step, e.round, e.begun, at_}; }
  void operator()(const StepReopened& e) {
    Pan& p = pan(e.pan);
    const Place back{step_index(p, e.step), e.round};
    while (!p.runs.empty() && Place{p.runs.back().step, p.runs.back().round} != back) p.runs.pop_back();
    if (!p.runs.empty()) {
      if (e.begun) {
        p.runs.back().ended.reset();
        p.runs.back().end_inferred = false;
        p.runs.back().marks.clear();
      } else {
        p.runs.pop_back();
      }
    }
    p.place = back;
    if (!p.begun()) p.cooked = 0;
    if (p.finished) {
      for (Portion& portion : p.portions)
        if (portion.plated == p.finished) portion.plated.reset();
    }
    p.finished.reset();
    p.marks.clear();
    const auto& component = s_.component_of(p);
    // A cue pressed after this place has not come.
    for (auto it = p.rounds.begin(); it != p.rounds.end();)
      it = component.groups[static_cast<std::size_t>(it->first)].last >= back.step ? p.rounds.erase(it) : std::next(it);
    s_.presses.erase(p.station);
  }
  void operator()(const CueMet& e) {
    Pan& p = pan(e.pan);
    const auto& component = s_.component_of(p);
    for (std::size_t g = 0; g < component.groups.size(); ++g) {
      if (component.groups[g].word != e.word) continue;
      p.rounds[static_cast<int>(g)] = e.rounds;
      const int behind = component.groups[g].last + 1;
      // The rounds are over wherever they stood, unless a step of theirs still runs.
      if (p.running() == nullptr && p.place.step <= component.groups[g].last)
        p.place = {behind, component.steps[static_cast<std::size_t>(behind)].group >= 0 ? 1 : 0};
    }
  }
  void operator()(const WordGiven&) {}
  void operator()(const PortionPlated& e) {
    for (Portion& portion : pan(e.pan).portions)
      if (portion.plate == e.plate) portion.plated = from_ms(e.at_ms);
  }
  void operator()(const PlateGone& e) {
    plate_of(e.plate).gone = from_ms(e.at_ms);
    retire_pans(e.plate);
  }
  void operator()(const PlateBack& e) {
    plate_of(e.plate).gone.reset();
    Course& course = course_of(e.plate.ticket, e.plate.course);
    course.state = CourseState::fired;
    course.gone_at.reset();
    bring_pans_back(e.plate);
  }
  void operator()(const PlateBlocked& e) { plate_of(e.plate).blocked[e.component] = e.allergen; }
  void operator()(const PlateCleared& e) {
    Plate& plate = plate_of(e.plate);
    for (const auto& [component, allergen] : plate.blocked) plate.cleared.insert(component);
    plate.blocked.clear();
  }
  void operator()(const PlateUnblocked& e) { plate_of(e.plate).blocked.erase(e.component); }
  void operator()(const CourseGone& e) {
    Course& course = course_of(e.ticket, e.course);
    course.state = CourseState::gone;
    course.gone_at = from_ms(e.at_ms);
    course.spread = Duration(e.spread_ms);
    existing(s_.tickets, e.ticket, "ticket").pause.reset();
  }
  void operator()(const RefireOrdered& e) {
    Plate& plate = plate_of(e.plate);
    plate.refires += 1;
    plate.gone.reset();
    Course& course = course_of(e.plate.ticket, e.plate.course);
    if (course.state == CourseState::gone) course.state = CourseState::fired;
    course.gone_at.reset();
    bring_pans_back(e.plate);
    for (auto it = s_.pans.begin(); it != s_.pans.end();) {
      Pan& p = it->second;
      const bool again = std::find(e.components.begin(), e.components.end(), p.component) != e.components.end();
      if (!again || p.portion_of(e.plate) == nullptr) {
        ++it;
        continue;
      }
      erase_portion(p, e.plate);
      if (p.portions.empty())
        it = s_.pans.erase(it);
      else if (all_gone(p))
        s_.past.insert(s_.pans.extract(it++));
      else
        ++it;
    }
  }

  void operator()(const PortionLent& e) {
    Pan& p = pan(e.pan);
    if (p.portion_of(e.from) == nullptr) does_not_fit("no such portion");
    for (Portion& portion : p.portions)
      if (portion.plate == e.from) portion.plate = e.to;
    plate_of(e.to).borrowed[p.component] = s_.tickets.at(e.from.ticket).table;
    plate_of(e.from).lent[p.component] = s_.tickets.at(e.to.ticket).table;
  }

  void operator()(const Marked& e) {
    Pan& p = pan(e.pan);
    if (e.step.empty()) {
      p.marks.insert(e.mark);
      return;
    }
    if (p.running() == nullptr) does_not_fit("a mark on a step that does not run");
    p.runs.back().marks.insert(e.mark);
  }
  void operator()(const AlertRaised& e) {
    Alert alert;
    alert.id = e.alert;
    alert.kind = e.kind;
    alert.station = e.station;
    alert.pan = e.pan;
    alert.step = e.step;
    alert.round = e.round;
    alert.plate = e.plate;
    alert.batch = e.batch;
    alert.raised = from_ms(e.at_ms);
    s_.alerts[e.alert] = alert;
    s_.alerts_made = std::max(s_.alerts_made, number(e.alert));
  }
  void operator()(const AlertAcknowledged& e) { alert(e.alert).answered = true; }
  void operator()(const AlertShelved& e) { alert(e.alert).shelved_until = from_ms(e.until_ms); }
  void operator()(const AlertUnshelved& e) { alert(e.alert).shelved_until.reset(); }
  void operator()(const AlertEscalated& e) { alert(e.alert).escalated = true; }
  void operator()(const WordsDropped& e) {
    Ticket& ticket = existing(s_.tickets, e.ticket, "ticket");
    ticket.note.clear();
    for (Course& course : ticket.courses)
      for (auto& [position, plate] : course.plates) plate.wanted.change.clear();
    ticket.words = false;
  }
  void operator()(const AlertCleared& e) {
    if (s_.alerts.erase(e.alert) == 0) does_not_fit("no such alert");
  }
  // Those of the record are made true by apply_record.
  template <class OfTheRecord>
  void operator()(const OfTheRecord&) {}

 private:
  // Its guests came with what was written about them: that stays readable as long as either table is here.
  static void words_go_along(const Ticket& from, Ticket& to) {
    if (from.id == to.id || (!from.words && from.words_from.empty())) return;
    to.words = true;
    to.words_from.insert(from.id);
    to.words_from.insert(from.words_from.begin(), from.words_from.end());
  }

  static void erase_portion(Pan& p, const PlateKey& plate) {
    p.portions.erase(
        std::remove_if(p.portions.begin(), p.portions.end(), [&](const Portion& one) { return one.plate == plate; }),
        p.portions.end());
  }

  Pan& pan(PanId id) { return existing(s_.pans, id, "pan"); }
  Alert& alert(AlertId id) { return existing(s_.alerts, id, "alert"); }
  Course& course_of(TicketId ticket, const std::string& name) {
    Course* course = existing(s_.tickets, ticket, "ticket").find_course(name);
    if (course == nullptr) does_not_fit("no such course");
    return *course;
  }
  Plate& plate_of(const PlateKey& key) {
    return existing(course_of(key.ticket, key.course).plates, key.position, "plate");
  }
  int step_index(const Pan& p, const std::string& id) {
    const Component& component = s_.component_of(p);
    const auto* step = component.find_step(id);
    if (step == nullptr) does_not_fit("no step " + id + " in " + component.id);
    return static_cast<int>(step - component.steps.data());
  }
  void promise(const std::string& dish, int portions) {
    const auto counted = s_.left.find(dish);
    if (counted != s_.left.end()) counted->second -= portions;
  }
  bool all_gone(const Pan& p) {
    return std::all_of(p.portions.begin(), p.portions.end(),
                       [&](const Portion& one) { return plate_of(one.plate).gone.has_value(); });
  }
  void retire_pans(const PlateKey& plate) {
    for (auto it = s_.pans.begin(); it != s_.pans.end();) {
      if (it->second.portion_of(plate) == nullptr || !all_gone(it->second)) {
        ++it;
        continue;
      }
      s_.past.insert(s_.pans.extract(it++));
    }
  }
  void bring_pans_back(const PlateKey& plate) {
    for (auto it = s_.past.begin(); it != s_.past.end();) {
      if (it->second.portion_of(plate) == nullptr) {
        ++it;
        continue;
      }
      s_.pans.insert(s_.past.extract(it++));
    }
  }

  State& s_;
  Instant at_;
};

}  // namespace

void apply(State& state, const Event& event) {
  if (concerns_record(event.what)) {
    auto next = std::make_shared<Record>(state.record());
    apply_record(*next, event.what, event.at);
    state.kept = std::move(next);
  } else {
    std::visit(Applier(state, event.at), event.what);
  }
  state.now = event.at;
}

}  // namespace nappe::line
