#include "common/rehearse/night.hpp"

#include <algorithm>
#include <map>
#include <queue>

#include "common/line/chain.hpp"
#include "common/rehearse/advice.hpp"
#include "common/rehearse/crew.hpp"
#include "common/rehearse/guests.hpp"
#include "common/rehearse/pan_work.hpp"

namespace nappe::rehearse {
namespace {

using kitchen::StepKind;
using line::CourseKey;
using line::CourseState;
using line::PanId;
using line::Place;
using line::TicketId;

// No night goes on for longer after its last booking.
constexpr Duration night_longest = std::chrono::hours(10);

// Something that will happen.
struct Coming {
  enum class What { order, clear, hand_done, wait_done };
  Instant at{};
  int sequence = 0;  // Of two at the same instant the one arranged first comes first.
  What what = What::order;
  int visit = 0;
  int course = 0;
  PanId pan{};
  int person = 0;
};
struct Later {
  bool operator()(const Coming& a, const Coming& b) const {
    return a.at != b.at ? a.at > b.at : a.sequence > b.sequence;
  }
};

// A course of a table on its way.
struct Served {
  std::size_t trace = 0;
  int visit = 0;
  int course = 0;
  bool fired = false;
  int open = 0;  // Pans that are not done.
  std::vector<PanId> pans;
};

class Night {
 public:
  Night(const Stage& stage, const Manner& manner, std::uint64_t seed, int number, bool trace)
      : stage_(stage),
        manner_(manner),
        draws_(seed, number),
        works_(*stage.kitchen, manner, draws_),
        state_(stage.opened),
        advice_(manner),
        crew_(*stage.kitchen),
        kit_(*stage.kitchen),
        visits_(visits(stage, manner.guests, draws_)),
        trace_(trace) {
    out_.stations.resize(stage.kitchen->stations.size());
    out_.components.resize(stage.kitchen->components.size());
    waiting_.resize(stage.kitchen->stations.size());
    allowance_ = manner.rule == Rule::planner ? Duration::zero() : stage.kitchen->settings.finish_allowance;
    tickets_.resize(visits_.size());
    for (std::size_t i = 0; i < visits_.size(); ++i)
      arrange({visits_[i].orders, 0, Coming::What::order, static_cast<int>(i), 0, {}, 0});
    now_ = visits_.empty() ? stage.first : visits_.front().orders;
    end_ = stage.midnight + stage.sheet.bookings.back().at + night_longest;
  }

  NightResult play() {
    while (const auto next = next_instant()) {
      if (*next > end_) break;
      now_ = *next;
      while (!coming_.empty() && coming_.top().at <= now_) {
        const Coming one = coming_.top();
        coming_.pop();
        happen(one);
      }
      if (look_at_ && *look_at_ <= now_) look();
      for (std::size_t station = 0; station < waiting_.size(); ++station) use_hands(static_cast<int>(station));
    }
    out_.unfinished = !works_by_pan_.empty() || !coming_.empty();
    out_.plans = advice_.plans();
    finish_loads();
    return std::move(out_);
  }

 private:
  // --- time
  void arrange(Coming one) {
    one.sequence = sequence_++;
    coming_.push(one);
  }
  std::optional<Instant> next_instant() const {
    std::optional<Instant> next = look_at_;
    const auto sooner = [&](Instant at) {
      if (!next || at < *next) next = at;
    };
    if (!coming_.empty()) sooner(coming_.top().at);
    for (const auto& station : waiting_)
      for (const PanWork* work : station)
        if (work->due > now_) sooner(work->due);
    return next;
  }
  void happen(const Coming& one) {
    switch (one.what) {
      case Coming::What::order:
        return take_order(one.visit);
      case Coming::What::clear:
        return fire(one.visit, one.course);
      case Coming::What::hand_done:
        return end_move(works_by_pan_.at(one.pan), one.person);
      case Coming::What::wait_done:
        return end_wait(works_by_pan_.at(one.pan));
    }
  }

  // --- the line
  bool ask(line::Action action) {
    line::Command command;
    command.at = now_;
    command.by = "rehearsal";
    command.action = std::move(action);
    const auto events = line::decide(state_, command, now_);
    if (!events) {
      ++out_.refused;
      return false;
    }
    for (const line::Event& event : *events) {
      if (const auto* moved = std::get_if<line::PortionsMoved>(&event.what)) share(*moved);
      line::apply(state_, event);
    }
    return true;
  }
  // Two tables' portions are cooked in one pan from here on.
  void share(const line::PortionsMoved& moved) {
    const auto from = works_by_pan_.find(moved.from);
    PanWork& into = works_by_pan_.at(moved.to);
    into.portions += static_cast<int>(moved.plates.size());
    Served& served = served_.at(moved.plates.front().of_course());
    std::replace(served.pans.begin(), served.pans.end(), moved.from, moved.to);
    ++into.tables;
    auto& list = waiting_[static_cast<std::size_t>(into.station)];
    list.erase(std::remove(list.begin(), list.end(), &from->second), list.end());
    works_by_pan_.erase(from);
  }
  // Something changed that the plan ought to know: at once, if it has not been looked at just before.
  void plan_for(bool significant) {
    const Instant at = std::max(now_, looked_ + (significant ? manner_.replan_after : manner_.replan_small));
    if (!look_at_ || at < *look_at_) look_at_ = at;
  }
  // Marks and alerts of the time gone by, then the plan.
  void look() {
    look_at_.reset();
    looked_ = now_;
    for (const line::Event& event : line::elapse(state_, now_)) line::apply(state_, event);
    advice_.look(state_, now_);
    begin_early();
    for (auto& station : waiting_)
      for (PanWork* work : station) set_due(*work);
  }

  // --- tables
  void take_order(int visit) {
    const Visit& guest = visits_[static_cast<std::size_t>(visit)];
    if (!ask(line::SendTicket{guest.order, true})) return;  // two tables alike are two tables
    const TicketId ticket{state_.tickets_made};
    tickets_[static_cast<std::size_t>(visit)] = ticket;
    const auto& courses = state_.find_ticket(ticket)->courses;
    for (std::size_t c = 0; c < courses.size(); ++c) {
      Served& served = served_[{ticket, courses[c].course}];
      served.visit = visit;
      served.course = static_cast<int>(c);
    }
    for (const auto& [id, pan] : state_.pans) {
      const line::PlateKey& plate = pan.portions.front().plate;
      if (plate.ticket != ticket) continue;
      Served& served = served_.at(plate.of_course());
      served.pans.push_back(id);
      ++served.open;
      works_by_pan_.emplace(id, works_.make(pan, guest.key));
    }
    fire(visit, 0);
  }

  void fire(int visit, int course) {
    const TicketId ticket = tickets_[static_cast<std::size_t>(visit)];
    const CourseKey key{ticket, state_.find_ticket(ticket)->courses[static_cast<std::size_t>(course)].course};
    Served& served = served_.at(key);
    if (!ask(line::Fire{ticket, key.course, advice_.promise(state_, key, now_)})) return;
    const auto words = advice_.fired(state_, key, now_);
    looked_ = now_;
    served.fired = true;
    served.trace = out_.courses.size();
    const line::Ticket& told = *state_.find_ticket(ticket);
    out_.courses.push_back({told.table,
                            key.course,
                            now_,
                            words.given,
                            words.alone,
                            {},
                            {},
                            static_cast<int>(told.courses[static_cast<std::size_t>(course)].plates.size())});
    for (const PanId id : served.pans) {
      PanWork& work = works_by_pan_.at(id);
      work.fired = now_;
      if (!work.queued && work.state == PanWork::State::before) queue(work, now_);
      if (work.state == PanWork::State::held_for_call) queue(work, now_);
    }
    // All plans may have changed with the new course.
    for (auto& station : waiting_)
      for (PanWork* work : station) set_due(*work);
    if (served.open == 0) go(key, served);
  }

  // The course is up: it goes, and the next one's long components are thought of.
  void go(const CourseKey& key, Served& served) {
    if (!ask(line::Gone{key.ticket, key.course, {}, false})) return;
    const line::Ticket& ticket = *state_.find_ticket(key.ticket);
    const line::Course& course = ticket.courses[static_cast<std::size_t>(served.course)];
    CourseTrace& trace = out_.courses[served.trace];
    trace.gone = now_;
    trace.spread = course.spread;
    const Instant at_table = now_ + stage_.kitchen->walk_to(ticket.table);
    if (now_ > trace.word + manner_.late_after) ++out_.stations[static_cast<std::size_t>(last_station_)].last_of_late;
    for (const PanId id : served.pans) {
      settle(works_by_pan_.at(id), manner_.walk_counts ? at_table : now_);
      if (--works_by_pan_.at(id).tables > 0) continue;
      advice_.forget(id);
      works_by_pan_.erase(id);
    }
    plan_for(false);
    const int next = served.course + 1;
    if (static_cast<std::size_t>(next) >= ticket.courses.size()) return;
    const Visit& guest = visits_[static_cast<std::size_t>(served.visit)];
    const Spell spell = eating_spell(*stage_.kitchen, manner_.guests, key.course, served.course);
    arrange(
        {at_table + eats(spell, draws_, guest.key, served.course), 0, Coming::What::clear, served.visit, next, {}, 0});
    const line::CourseKey expected{key.ticket, ticket.courses[static_cast<std::size_t>(next)].course};
    if (manner_.rule == Rule::planner) {
      // A house that says how long its tables eat has guessed as much when the course left.
      if (!state_.find_ticket(key.ticket)->find_course(expected.course)->clear)
        ask(line::GuessClear{expected.ticket, expected.course, to_ms(at_table + spell.mean)});
      return plan_for(true);
    }
    think_ahead(served_.at(expected), at_table + spell.mean);
  }

  // Which components must be begun before the call, and when: rest centred on the time the table should have cleared,
  // the rest of the course cooked from then on.
  void think_ahead(Served& served, Instant clear) {
    Duration others{};
    for (const PanId id : served.pans) {
      const PanWork& work = works_by_pan_.at(id);
      others = std::max(others, work.slack < manner_.early_slack_min ? work.chain : work.after_rest);
    }
    for (const PanId id : served.pans) {
      PanWork& work = works_by_pan_.at(id);
      if (work.slack < manner_.early_slack_min) continue;
      const Instant start = clear + others - work.chain - work.slack / 2;
      if (start >= clear) continue;
      work.early = std::max(start, now_);
      queue(work, *work.early);
    }
  }

  // What the plan wants begun before its course is fired.
  void begin_early() {
    if (manner_.rule != Rule::planner) return;
    for (auto& [id, work] : works_by_pan_) {
      if (work.state != PanWork::State::before || work.fired || work.slack < manner_.early_slack_min) continue;
      const plan::Slot* slot = advice_.slot(id, work.next.step, work.next.round);
      if (slot == nullptr || !advice_.scheduled(id) || slot->latest > now_ + manner_.replan_small) continue;
      work.early = slot->latest;
      queue(work, now_);
    }
  }

  void settle(const PanWork& work, Instant until) {
    ComponentNight& tally = out_.components[static_cast<std::size_t>(work.index)];
    const Duration standing = until - work.finished;
    ++tally.pans;
    tally.standing += standing;
    if (standing > work.component->keep || work.rest_too_long) ++tally.past;
  }

  // --- hands
  void queue(PanWork& work, Instant wanted) {
    work.state = PanWork::State::ready;
    work.wanted = wanted;
    work.queued = true;
    waiting_[static_cast<std::size_t>(work.station)].push_back(&work);
    set_due(work);
  }

  void set_due(PanWork& work) const {
    const bool planned = work.fired || (work.early && manner_.rule == Rule::planner);
    const plan::Slot* slot = planned ? advice_.slot(work.pan, work.next.step, work.next.round) : nullptr;
    work.latest = slot != nullptr ? slot->latest : work.wanted;
    const Instant listed = work.latest - allowance_;
    if (manner_.rule == Rule::at_fire && work.fired)
      work.due = work.wanted;
    else if (!work.begun)
      work.due = std::max(work.wanted, listed);
    else
      work.due = std::clamp(listed, work.wanted, std::max(work.wanted, work.must_by));
  }

  [[nodiscard]] bool before(const PanWork& a, const PanWork& b) const {
    if (manner_.order == HandOrder::table_time) {
      const Instant a_at = a.fired.value_or(a.wanted);
      const Instant b_at = b.fired.value_or(b.wanted);
      if (a_at != b_at) return a_at < b_at;
    }
    if (a.latest != b.latest) return a.latest < b.latest;
    return a.pan < b.pan;
  }

  void use_hands(int station) {
    auto& list = waiting_[static_cast<std::size_t>(station)];
    for (int person = crew_.free_at(station); person >= 0 && !list.empty(); person = crew_.free_at(station)) {
      PanWork* best = nullptr;
      for (PanWork* work : list) {
        if (work->due > now_ || (best != nullptr && !before(*work, *best))) continue;
        if (!kit_.room_for(works_.places(*work, kit_), work->held)) continue;
        best = work;
      }
      if (best == nullptr) return;
      list.erase(std::find(list.begin(), list.end(), best));
      begin_move(*best, person);
    }
  }

  void begin_move(PanWork& work, int person) {
    work.queued = false;
    const auto& step = work.component->steps[static_cast<std::size_t>(work.next.step)];
    if (!ask(line::StartStep{work.pan, step.id, work.next.round, false})) {
      // The line knows better: nothing more is done to this pan, and the night will not end.
      work.state = PanWork::State::lost;
      return;
    }
    if (work.rest_ends && now_ > *work.rest_ends) work.rest_too_long = true;
    work.rest_ends.reset();
    kit_.change(work.held, works_.places(work, kit_));
    crew_.set_busy(work.station, person, true);
    work.begun = true;
    work.state = PanWork::State::in_hand;
    work.started = now_;
    const Duration takes = works_.duration(work, work.next, crew_.counts(work.station, person));
    StationNight& tally = out_.stations[static_cast<std::size_t>(work.station)];
    ++tally.moves;
    tally.waited += now_ - work.due;
    arrange({now_ + takes, 0, Coming::What::hand_done, 0, 0, work.pan, person});
    plan_for(false);
  }

  void end_move(PanWork& work, int person) {
    crew_.set_busy(work.station, person, false);
    add_load(work.station, work.started, crew_.counts(work.station, person));
    if (trace_)
      out_.moves.push_back(
          {work.pan, work.station, work.index, work.next.step, work.next.round, work.due, work.started, now_});
    const auto& step = work.component->steps[static_cast<std::size_t>(work.next.step)];
    if (!ask(line::FinishStep{work.pan, step.id, work.next.round, false})) {
      work.state = PanWork::State::lost;
      return;
    }
    go_on(work, work.next);
  }

  void end_wait(PanWork& work) {
    const Place here = work.next;
    const auto& step = work.component->steps[static_cast<std::size_t>(here.step)];
    if (works_.ends_rounds(work, here)) {
      ask(line::ItsThere{work.pan});
      plan_for(true);
      return go_on(work, here);
    }
    const auto next = works_.behind(work, *state_.find_pan(work.pan), here);
    if (next && works_.by_hand(work, *next)) return stand_ready(work, *next, here);
    // Two waits on end: somebody says that the first is over.
    ask(line::FinishStep{work.pan, step.id, here.round, false});
    go_on(work, here);
  }

  // A step ended; what the line says comes next.
  void go_on(PanWork& work, Place ended) {
    const line::Pan& pan = *state_.find_pan(work.pan);
    plan_for(pan.finished.has_value());
    if (pan.finished) return done(work);
    if (const line::Run* run = pan.running()) {
      work.next = {run->step, run->round};
      work.state = PanWork::State::waiting;
      const auto& step = work.component->steps[static_cast<std::size_t>(run->step)];
      if (step.kind == StepKind::rest)
        work.rest_ends = run->started + std::max(step.rest_max, step.usual(work.portions));
      // Also what the waits behind it need: it was seen to when the hands began.
      kit_.change(work.held, works_.places(work, kit_));
      arrange({run->started + works_.duration(work, work.next, 1.0), 0, Coming::What::wait_done, 0, 0, work.pan, 0});
      return;
    }
    Place next = pan.place;
    if (works_.ends_rounds(work, ended)) {
      const int group = work.component->steps[static_cast<std::size_t>(ended.step)].group;
      if (pan.rounds.count(group) == 0) ask(line::ItsThere{work.pan});
      next = state_.find_pan(work.pan)->place;
    } else if (const auto again = works_.again(work, ended)) {
      next = *again;
    }
    stand_ready(work, next, ended);
  }

  void stand_ready(PanWork& work, Place next, Place after) {
    work.next = next;
    const auto& step = work.component->steps[static_cast<std::size_t>(next.step)];
    work.must_by = now_ + step.pause;
    const auto& before = work.component->steps[static_cast<std::size_t>(after.step)];
    if (before.kind == StepKind::rest && work.rest_ends) work.must_by = std::max(work.must_by, *work.rest_ends);
    if (step.kind == StepKind::plate && !work.fired) {
      work.state = PanWork::State::held_for_call;
      return;
    }
    queue(work, now_);
  }

  void done(PanWork& work) {
    work.state = PanWork::State::done;
    work.finished = now_;
    kit_.change(work.held, {});
    std::vector<CourseKey> up;
    for (auto& [key, served] : served_) {
      if (std::find(served.pans.begin(), served.pans.end(), work.pan) == served.pans.end()) continue;
      if (--served.open == 0 && served.fired) up.push_back(key);
    }
    last_station_ = work.station;
    for (const CourseKey& key : up) go(key, served_.at(key));
  }

  // --- load
  void add_load(int station, Instant start, double counts) {
    auto& load = out_.stations[static_cast<std::size_t>(station)].load;
    for (Instant at = start; at < now_;) {
      const auto slot = std::max<std::int64_t>(0, (at - stage_.first) / slot_length);
      if (static_cast<std::size_t>(slot) >= load.size()) load.resize(static_cast<std::size_t>(slot) + 1);
      const Instant until = std::min(now_, stage_.first + (slot + 1) * slot_length);
      load[static_cast<std::size_t>(slot)] += in_seconds(until - at) * counts;
      at = until;
    }
  }
  void finish_loads() {
    std::size_t slots = 0;
    for (const StationNight& station : out_.stations) slots = std::max(slots, station.load.size());
    for (std::size_t i = 0; i < out_.stations.size(); ++i) {
      auto& load = out_.stations[i].load;
      load.resize(slots);
      const double there = crew_.hands(static_cast<int>(i)) * in_seconds(slot_length);
      for (double& one : load) one = there > 0 ? one / there : 0;
    }
  }

  const Stage& stage_;
  const Manner& manner_;
  Draws draws_;
  PanWorks works_;
  line::State state_;
  Advice advice_;
  Crew crew_;
  Kit kit_;
  std::vector<Visit> visits_;
  bool trace_;
  Duration allowance_{};

  Instant now_{};
  Instant end_{};
  std::optional<Instant> look_at_;
  Instant looked_{};
  int sequence_ = 0;
  int last_station_ = 0;
  std::priority_queue<Coming, std::vector<Coming>, Later> coming_;
  std::vector<TicketId> tickets_;  // By visit.
  std::map<CourseKey, Served> served_;
  std::map<PanId, PanWork> works_by_pan_;
  std::vector<std::vector<PanWork*>> waiting_;  // By station: those whose next move could be made.
  NightResult out_;
};

}  // namespace

NightResult play_night(const Stage& stage, const Manner& manner, std::uint64_t seed, int number, bool trace) {
  return Night(stage, manner, seed, number, trace).play();
}

}  // namespace nappe::rehearse
