#include "common/mise/prep_work.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "common/food/conduction.hpp"
#include "common/food/reduction.hpp"
#include "common/mise/prep_words.hpp"
#include "common/plan/kitchen_planner.hpp"

namespace nappe::mise {
namespace {

using kitchen::PrepItem;
using kitchen::PrepKind;
using kitchen::PrepSheet;
using kitchen::PrepStep;
using plan::Tick;

constexpr Duration tick_length = minutes(1);
// A batch that is not ready in time is dear; one that is ready early is only less fresh.
constexpr plan::Price price_late = 10'000;
constexpr plan::Price price_early = 1;
constexpr plan::Price price_move = 2;
// A short-lived batch may be ready this much before its time, not more: its clock runs.
constexpr Tick birth_early = 5;
constexpr int tries = 1500;

std::size_t at(int index) { return static_cast<std::size_t>(index); }

Tick ticks_up(Duration d) { return static_cast<Tick>((d + tick_length - Duration(1)) / tick_length); }
Tick tick_of(Duration since_midnight) { return static_cast<Tick>(since_midnight / tick_length); }
Duration time_of(Tick tick) { return tick_length * tick; }

food::Material material_of(kitchen::Stuff stuff) {
  switch (stuff) {
    case kitchen::Stuff::potato:
      return food::potato;
    case kitchen::Stuff::meat:
      return food::lean_meat;
    case kitchen::Stuff::puree:
      break;
  }
  return food::wet_puree;
}

// A kilogram is taken for a litre (common practice, no source).
constexpr double kg_per_m3 = 1000;

Result<StepTime> chill_time(const kitchen::PrepChill& chill, double grams) {
  const food::Material material = material_of(chill.stuff);
  const food::Immersion in{chill.from_c, chill.air_c};
  const auto deepest = food::deepest_tray_m(material, chill.film, in, chill.to_c, chill.within);
  if (!deepest) return deepest.error();
  const double area = chill.tray_cm2 / 1e4;
  const double volume = grams / 1000 / kg_per_m3;
  StepTime out;
  out.trays = std::max(1, static_cast<int>(std::ceil(volume / (area * *deepest) - 1e-9)));
  const double depth = volume / (area * out.trays);
  out.depth_mm = depth * 1000;
  const auto time = [&](double thick) {
    return food::time_to_core({food::Shape::slab, thick / 2, material, chill.film}, in, chill.to_c);
  };
  const auto takes = time(depth);
  if (!takes) return takes.error();
  out.takes = *takes;
  out.detail = fmt::format("{} {}, {:.0f} mm deep: core at {:g} C after {}", out.trays,
                           out.trays == 1 ? "tray" : "trays", out.depth_mm, chill.to_c, hours_text(*takes));
  if (out.trays > 1) {
    const double fewer = volume / (area * (out.trays - 1));
    if (const auto slower = time(fewer))
      out.detail += fmt::format("; in {} ({:.0f} mm) it would be {}, over {}", out.trays - 1, fewer * 1000,
                                hours_text(*slower), hours_text(chill.within));
  }
  return out;
}

Result<StepTime> reduce_time(const kitchen::PrepReduce& reduce, double grams) {
  food::Reduction pot;
  pot.to_kg = grams / 1000;
  pot.from_kg = pot.to_kg / reduce.to_share;
  pot.start_c = reduce.start_c;
  const auto time = food::reduction_time(pot, {reduce.watts, reduce.efficiency});
  if (!time) return time.error();
  StepTime out;
  out.takes = time->gentle();
  out.detail = fmt::format(
      "{:.2f} kg to {:.2f} kg, by weight and not by the clock; {} to the boil, the last tenth at "
      "half power",
      pot.from_kg, pot.to_kg, hours_text(time->heating));
  return out;
}

Result<StepTime> soak_time(const kitchen::PrepSoak& soak) {
  const food::Body slab{food::Shape::slab, soak.thick_mm / 2000, material_of(soak.stuff), soak.film};
  const auto found = food::soak(slab, {soak.start_c, soak.bath_c}, soak.reach_c, soak.hold);
  if (!found) return found.error();
  StepTime out;
  out.takes = found->lift;
  out.detail = fmt::format("{:g} mm slices in {:g} C: core at {:g} C after {}, lift {} later", soak.thick_mm,
                           soak.bath_c, soak.reach_c, hours_text(found->core_there), hours_text(soak.hold));
  return out;
}

// One batch on its way into the problem.
struct Job {
  const PrepItem* item = nullptr;
  int batch = 1;
  int of = 1;
  Duration wanted{};
  bool birth = false;
  std::vector<StepTime> times;
  std::vector<Tick> ticks;                  // of each step, hands stretched
  std::vector<std::pair<int, Tick>> place;  // of each step: block and offset in it
  int course = -1;
  [[nodiscard]] std::string key() const { return fmt::format("{}/{}", item->id, batch); }
};

class Builder {
 public:
  Builder(const kitchen::Kitchen& kitchen, const PrepSheet& sheet, const WorkPlan* before)
      : k_(kitchen), sheet_(sheet), before_(before) {
    if (before_ != nullptr)
      for (const Task& task : before_->tasks) shown_[task.id()] = &task;
    add_resources();
  }

  WorkPlan run(const std::vector<Need>& needs) {
    for (const Need& need : needs) add_item(need);
    plan::KitchenProblem& problem = out_.problem;
    problem.terms.now = tick_of(sheet_.begins);
    problem.terms.frozen_until = problem.terms.now;
    for (Job& job : jobs_) add_job(job);
    plan::KitchenPlanner planner;
    out_.schedule = planner.repair(problem);
    out_.schedule = planner.improve(problem, out_.schedule, {tries, 1});
    for (const Job& job : jobs_) write(job);
    std::stable_sort(out_.tasks.begin(), out_.tasks.end(), [](const Task& a, const Task& b) {
      return std::tie(a.begin, a.station, a.item, a.batch, a.step) <
             std::tie(b.begin, b.station, b.item, b.batch, b.step);
    });
    return std::move(out_);
  }

 private:
  void add_resources() {
    for (const kitchen::Station& station : k_.stations) {
      double speed = 0;
      for (const kitchen::Person& person : station.people) speed += person.counts;
      const int pairs = static_cast<int>(station.people.size());
      const int hands = add(std::max(1, pairs), fmt::format("hands at {}", station.name));
      hands_[station.id] = hands;
      stretch_[station.id] = speed > 0 ? pairs / speed : 1.0;
      for (const kitchen::PrepBreak& one : sheet_.breaks) {
        out_.problem.outages.push_back({hands, std::max(1, pairs), tick_of(one.from), tick_of(one.to)});
      }
      for (const kitchen::Equipment& kit : station.equipment) equipment_[kit.id] = add(kit.places, kit.name);
    }
  }
  int add(int capacity, std::string name) {
    out_.problem.resources.push_back({capacity});
    names_.push_back(std::move(name));
    return static_cast<int>(names_.size()) - 1;
  }

  void add_item(const Need& need) {
    const PrepItem* item = sheet_.find(need.item);
    if (item == nullptr || item->steps.empty()) return;
    for (std::size_t b = 0; b < need.batches.size(); ++b) {
      if (need.batches[b] <= 0) continue;
      Job job;
      job.item = item;
      job.batch = static_cast<int>(b) + 1;
      job.of = static_cast<int>(need.batches.size());
      job.birth = b < need.births.size();
      job.wanted = job.birth ? need.births[b].at : item->ready.value_or(sheet_.line_check - sheet_.slack);
      const double grams = need.weighed ? need.batches[b] : 0;
      const double portions = need.weighed ? need.batches[b] / item->portion_g : need.batches[b];
      if (time_steps(job, grams, portions)) jobs_.push_back(std::move(job));
    }
  }

  bool time_steps(Job& job, double grams, double portions) {
    for (const PrepStep& step : job.item->steps) {
      const auto time = step_time(step, grams, portions);
      if (!time) {
        out_.cannot.push_back(fmt::format("{}, {}: {}", job.item->name, step.word, time.error().detail));
        return false;
      }
      const double stretch = step.kind == PrepKind::move ? stretch_.at(job.item->station) : 1.0;
      job.times.push_back(*time);
      job.ticks.push_back(std::max(1, ticks_up(from_seconds(in_seconds(time->takes) * stretch))));
      for (const plan::Use& use : uses_of(job, job.times.size() - 1, grams)) {
        const int places = out_.problem.resources[at(use.resource)].capacity;
        if (use.units <= places) continue;
        out_.cannot.push_back(fmt::format("{}, {}: it takes {} places and {} has {}: make it in smaller batches",
                                          job.item->name, step.word, use.units, names_[at(use.resource)], places));
        return false;
      }
    }
    weights_[job.key()] = grams;
    return true;
  }

  // The resources of a step, over its own length from 0.
  std::vector<plan::Use> uses_of(const Job& job, std::size_t index, double grams) const {
    const PrepStep& step = job.item->steps[index];
    const Tick length = job.ticks[index];
    std::vector<plan::Use> out;
    if (step.kind == PrepKind::move) out.push_back({hands_.at(job.item->station), 1, 0, length});
    if (step.kind == PrepKind::chill) out.push_back({equipment_.at(step.trays_in), job.times[index].trays, 0, length});
    const int kilograms = static_cast<int>(std::ceil(grams / 1000 - 1e-9));
    for (const kitchen::Use& use : step.uses)
      out.push_back({equipment_.at(use.equipment), use.of(kilograms), 0, length});
    return out;
  }

  void add_job(Job& job) {
    plan::KitchenProblem& problem = out_.problem;
    plan::Course course;
    course.wanted = tick_of(job.wanted);
    course.price_late = price_late;
    course.price_early = price_early;
    const Tick since_morning = std::max(0, course.wanted - problem.terms.now);
    course.early_max = job.birth ? birth_early : job.item->holds ? ticks_up(*job.item->holds) : since_morning;
    course.late_after = 0;
    job.course = add_course(problem, course);
    plan::Block away;  // put away and labelled: a moment
    const int plate = add_plate(problem, job.course, away, {});
    begin_component(problem);
    const auto count = job.item->steps.size();
    for (std::size_t i = 0; i < count;) i = add_block_of(job, i);
    end_component(problem, {{plate, 0, 0, 0}});
    show(job);
  }

  // Steps that follow each other at once are one rigid block. Answers the first step behind it.
  std::size_t add_block_of(Job& job, std::size_t first) {
    plan::Block block;
    std::vector<plan::Use> uses;
    const int index = static_cast<int>(out_.problem.blocks.size());
    std::size_t i = first;
    for (; i < job.item->steps.size(); ++i) {
      for (plan::Use use : uses_of(job, i, weights_.at(job.key()))) {
        use.from += block.length;
        use.to += block.length;
        uses.push_back(use);
      }
      job.place.emplace_back(index, block.length);
      block.length += job.ticks[i];
      if (job.item->steps[i].then_within > Duration::zero()) {
        block.next.lag_max = tick_of(job.item->steps[i].then_within);
        ++i;
        break;
      }
    }
    if (first == 0 && job.item->earliest) block.release = tick_of(*job.item->earliest);
    plan::add_block(out_.problem, block, uses);
    return i;
  }

  // What the plan before had of this batch stays, if it has the same length still.
  void show(const Job& job) {
    if (shown_.empty()) return;
    plan::Course& course = out_.problem.courses[at(job.course)];
    bool same = true;
    Tick end = 0;
    for (std::size_t i = 0; i < job.place.size(); ++i) {
      Task task;
      task.item = job.item->id;
      task.batch = job.batch;
      task.step = static_cast<int>(i);
      const auto found = shown_.find(task.id());
      if (found == shown_.end()) return;
      const Task& old = *found->second;
      end = tick_of(old.end);
      same = same && tick_of(old.end - old.begin) == job.ticks[i];
      const auto [block, offset] = job.place[i];
      if (offset != 0) continue;
      out_.problem.blocks[at(block)].shown_start = tick_of(old.begin);
      out_.problem.blocks[at(block)].price_move = price_move;
    }
    course.shown_meet = end;
    course.changed = !same;
    out_.problem.blocks[at(out_.problem.plates[at(job.course)].block)].shown_start = end;
  }

  [[nodiscard]] Tick start_of(const Job& job, std::size_t step) const {
    const auto [block, offset] = job.place[step];
    return out_.schedule.block_start[at(block)] + offset;
  }

  void write(const Job& job) {
    for (std::size_t i = 0; i < job.item->steps.size(); ++i) {
      const PrepStep& step = job.item->steps[i];
      Task task;
      task.item = job.item->id;
      task.batch = job.batch;
      task.of = job.of;
      task.step = static_cast<int>(i);
      task.word = step.word;
      task.station = job.item->station;
      task.hands = step.kind == PrepKind::move;
      task.begin = time_of(start_of(job, i));
      task.end = time_of(start_of(job, i) + job.ticks[i]);
      if (!step.trays_in.empty()) task.equipment.push_back(step.trays_in);
      for (const kitchen::Use& use : step.uses) task.equipment.push_back(use.equipment);
      task.detail = job.times[i].detail;
      task.trays = job.times[i].trays;
      out_.tasks.push_back(std::move(task));
    }
    const Tick meet = out_.schedule.meet[at(job.course)];
    const Tick wanted = out_.problem.courses[at(job.course)].wanted;
    if (meet == wanted) return;
    const auto [reason, hands] = because(job);
    (meet < wanted ? out_.moved : out_.late)
        .push_back({job.item->id, job.batch, time_of(wanted - meet), reason, hands});
  }

  // What is in the way where the batch would stand alone in the kitchen, and whether it is hands: equipment is told
  // before hands.
  [[nodiscard]] std::pair<std::string, bool> because(const Job& job) const {
    std::string hands;
    Tick end = out_.problem.courses[at(job.course)].wanted;
    for (std::size_t i = job.item->steps.size(); i-- > 0;) {
      const Tick begin = end - job.ticks[i];
      for (const plan::Use& use : uses_of(job, i, weights_.at(job.key()))) {
        const std::string found = in_the_way(job, use, begin, end);
        if (found.empty()) continue;
        if (use.resource != hands_.at(job.item->station)) return {found, false};
        if (hands.empty()) hands = found;
      }
      end = begin;
    }
    return hands.empty() ? std::pair{std::string("others need the room"), false} : std::pair{hands, true};
  }

  [[nodiscard]] std::string in_the_way(const Job& job, const plan::Use& wanted, Tick from, Tick to) const {
    for (Tick tick = from; tick < to; ++tick) {
      int taken = wanted.units;
      for (const plan::Outage& outage : out_.problem.outages) {
        if (outage.resource != wanted.resource || tick < outage.from || tick >= outage.to) continue;
        return fmt::format("{}: {}", names_[at(wanted.resource)], break_at(tick));
      }
      const Job* largest = nullptr;
      std::size_t largest_step = 0;
      int most = 0;
      for (const Job& other : jobs_) {
        if (&other == &job) continue;
        for (std::size_t i = 0; i < other.item->steps.size(); ++i) {
          const Tick begin = start_of(other, i);
          if (tick < begin || tick >= begin + other.ticks[i]) continue;
          for (const plan::Use& use : uses_of(other, i, weights_.at(other.key()))) {
            if (use.resource != wanted.resource) continue;
            taken += use.units;
            if (use.units <= most) continue;
            most = use.units;
            largest = &other;
            largest_step = i;
          }
        }
      }
      if (largest == nullptr || taken <= out_.problem.resources[at(wanted.resource)].capacity) continue;
      const Tick begin = start_of(*largest, largest_step);
      return fmt::format("{}: {}, {} to {}", names_[at(wanted.resource)], largest->item->name, day_text(time_of(begin)),
                         day_text(time_of(begin + largest->ticks[largest_step])));
    }
    return {};
  }

  [[nodiscard]] std::string break_at(Tick tick) const {
    for (const kitchen::PrepBreak& one : sheet_.breaks)
      if (tick >= tick_of(one.from) && tick < tick_of(one.to))
        return fmt::format("{}, {} to {}", one.word, day_text(one.from), day_text(one.to));
    return "break";
  }

  const kitchen::Kitchen& k_;
  const PrepSheet& sheet_;
  const WorkPlan* before_;
  WorkPlan out_;
  std::vector<std::string> names_;  // of resources
  std::map<std::string, int> hands_;
  std::map<std::string, double> stretch_;
  std::map<std::string, int> equipment_;
  std::map<std::string, double> weights_;  // grams of a batch, by key
  std::map<std::string, const Task*> shown_;
  std::vector<Job> jobs_;
};

}  // namespace

std::string Task::id() const { return fmt::format("{}/{}/{}", item, batch, step + 1); }

Result<StepTime> step_time(const PrepStep& step, double grams, double portions) {
  if (step.chill) return chill_time(*step.chill, grams);
  if (step.reduce) return reduce_time(*step.reduce, grams);
  if (step.soak) return soak_time(*step.soak);
  StepTime out;
  out.takes = step.fixed + from_seconds(in_seconds(step.per_kg) * grams / 1000 + in_seconds(step.each) * portions);
  return out;
}

WorkPlan plan_work(const kitchen::Kitchen& kitchen, const PrepSheet& sheet, const std::vector<Need>& needs,
                   const WorkPlan* before) {
  return Builder(kitchen, sheet, before).run(needs);
}

}  // namespace nappe::mise
