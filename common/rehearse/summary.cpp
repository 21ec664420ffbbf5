#include "common/rehearse/summary.hpp"

#include <algorithm>
#include <boost/math/distributions/students_t.hpp>
#include <cmath>

namespace nappe::rehearse {
namespace {

struct Shares {
  double late = 0;
  double late_alone = 0;
  double kept = 0;
  double past = 0;
};

double share(double part, double whole) { return whole > 0 ? part / whole : 0; }

Shares shares_of(const Manner& manner, const NightResult& night) {
  double late = 0;
  double alone = 0;
  double kept = 0;
  double fired = 0;
  for (const CourseTrace& course : night.courses) {
    fired += 1;
    if (course.gone == Instant{}) {  // Never: the night was not finished.
      late += 1;
      alone += 1;
      continue;
    }
    late += course.gone > course.word + manner.late_after ? 1 : 0;
    kept += course.gone <= course.word ? 1 : 0;
    alone += course.gone > course.word_alone + manner.late_after ? 1 : 0;
  }
  double pans = 0;
  double past = 0;
  for (const ComponentNight& component : night.components) {
    pans += component.pans;
    past += component.past;
  }
  return {share(late, fired), share(alone, fired), share(kept, fired), share(past, pans)};
}

double worst_of(const StationNight& station) {
  return station.load.empty() ? 0 : *std::max_element(station.load.begin(), station.load.end());
}

double mean_spread_s(const NightResult& night) {
  double sum = 0;
  for (const CourseTrace& course : night.courses) sum += in_seconds(course.spread);
  return share(sum, static_cast<double>(night.courses.size()));
}

double mean_wait_min(const NightResult& night) {
  double sum = 0;
  double gone = 0;
  for (const CourseTrace& course : night.courses) {
    if (course.gone == Instant{}) continue;
    sum += in_seconds(course.gone - course.fired) / 60;
    gone += 1;
  }
  return share(sum, gone);
}

double mean_standing_s(const NightResult& night) {
  double sum = 0;
  double pans = 0;
  for (const ComponentNight& component : night.components) {
    sum += in_seconds(component.standing);
    pans += component.pans;
  }
  return share(sum, pans);
}

void count_lateness(const NightResult& night, Summary& out) {
  const int last = static_cast<int>(out.lateness.size()) - 1;
  for (const CourseTrace& course : night.courses) {
    if (course.gone == Instant{}) continue;
    const auto against = std::chrono::floor<std::chrono::minutes>(course.gone - course.word).count();
    const int at = std::clamp(static_cast<int>(against) - out.lateness_from, 0, last);
    ++out.lateness[static_cast<std::size_t>(at)];
  }
}

StationSummary station_summary(const Stage& stage, std::size_t index, const std::vector<NightResult>& nights,
                               double late_in_all) {
  const kitchen::Station& station = stage.kitchen->stations[index];
  StationSummary out;
  out.id = station.id;
  out.name = station.name;
  for (const kitchen::Person& person : station.people) out.hands += person.counts;
  Mean worst;
  Mean over;
  double waited = 0;
  double moves = 0;
  double last = 0;
  std::size_t slots = 0;
  for (const NightResult& night : nights) {
    const StationNight& one = night.stations[index];
    out.worsts.push_back(worst_of(one));
    worst.add(out.worsts.back());
    over.add(out.worsts.back() > full_load ? 1 : 0);
    waited += in_seconds(one.waited);
    moves += one.moves;
    last += one.last_of_late;
    slots = std::max(slots, one.load.size());
  }
  out.works = moves > 0;
  out.worst = worst.estimate();
  out.over = over.estimate();
  out.waited_s = share(waited, moves);
  out.last_of_late = share(last, late_in_all);
  for (std::size_t slot = 0; slot < slots; ++slot) {
    Mean mean;
    std::vector<double> all;
    for (const NightResult& night : nights) {
      const auto& load = night.stations[index].load;
      all.push_back(slot < load.size() ? load[slot] : 0);
      mean.add(all.back());
    }
    out.load.push_back({stage.first + static_cast<std::int64_t>(slot) * slot_length, mean.estimate(),
                        sample_quantile(all, 0.1), sample_quantile(all, 0.9)});
    if (out.load.back().mean.mean <= out.fullest_load) continue;
    out.fullest_load = out.load.back().mean.mean;
    out.fullest = out.load.back().start;
  }
  return out;
}

std::vector<ComponentSummary> component_summaries(const Stage& stage, const std::vector<NightResult>& nights) {
  std::vector<ComponentSummary> out;
  for (std::size_t c = 0; c < stage.kitchen->components.size(); ++c) {
    const kitchen::Component& component = stage.kitchen->components[c];
    Mean pans;
    Mean past;
    Mean standing;
    for (const NightResult& night : nights) {
      const ComponentNight& one = night.components[c];
      pans.add(one.pans);
      if (one.pans == 0) continue;
      past.add(share(one.past, one.pans));
      standing.add(in_seconds(one.standing) / one.pans);
    }
    if (past.count() == 0) continue;
    out.push_back({component.id, component.name, in_seconds(component.keep), pans.estimate(), past.estimate(),
                   standing.estimate()});
  }
  return out;
}

}  // namespace

void Mean::add(double value) {
  ++count_;
  const double delta = value - mean_;
  mean_ += delta / static_cast<double>(count_);
  squares_ += delta * (value - mean_);
}

Estimate Mean::estimate() const {
  if (count_ < 2) return {mean_, 0, count_};
  const auto n = static_cast<double>(count_);
  return {mean_, std::sqrt(squares_ / (n - 1) / n), count_};
}

bool told_from_luck(const Estimate& difference) {
  if (difference.nights < nights_to_tell || difference.mean == 0) return false;
  const boost::math::students_t_distribution<> luck(static_cast<double>(difference.nights - 1));
  return std::abs(difference.mean) > boost::math::quantile(luck, 0.975) * difference.error;
}

double sample_quantile(std::vector<double> sample, double p) {
  if (sample.empty()) return 0;
  std::sort(sample.begin(), sample.end());
  const double at = std::clamp(p, 0.0, 1.0) * static_cast<double>(sample.size() - 1);
  const auto below = static_cast<std::size_t>(at);
  const auto above = std::min(below + 1, sample.size() - 1);
  return sample[below] + (at - static_cast<double>(below)) * (sample[above] - sample[below]);
}

const StationSummary* Summary::tightest() const {
  const StationSummary* best = nullptr;
  for (const StationSummary& station : stations)
    if (station.works && (best == nullptr || station.worst.mean > best->worst.mean)) best = &station;
  return best;
}

Summary summarise(const Stage& stage, const Manner& manner, const std::vector<NightResult>& nights) {
  Summary out;
  out.nights = static_cast<int>(nights.size());
  out.covers = stage.covers;
  out.lateness.assign(46, 0);
  Mean late, late_alone, kept, past, standing, spread, wait;
  double late_in_all = 0;
  for (const NightResult& night : nights) {
    const Shares shares = shares_of(manner, night);
    late.add(shares.late);
    late_alone.add(shares.late_alone);
    kept.add(shares.kept);
    past.add(shares.past);
    standing.add(mean_standing_s(night));
    spread.add(mean_spread_s(night));
    wait.add(mean_wait_min(night));
    count_lateness(night, out);
    for (const StationNight& station : night.stations) late_in_all += station.last_of_late;
    out.unfinished += night.unfinished ? 1 : 0;
    out.refused += night.refused;
  }
  out.late = late.estimate();
  out.late_alone = late_alone.estimate();
  out.kept = kept.estimate();
  out.past = past.estimate();
  out.standing = standing.estimate();
  out.spread = spread.estimate();
  out.wait = wait.estimate();
  for (std::size_t i = 0; i < stage.kitchen->stations.size(); ++i)
    out.stations.push_back(station_summary(stage, i, nights, late_in_all));
  out.components = component_summaries(stage, nights);
  return out;
}

Change compare(const std::string& name, const Manner& manner, const std::vector<NightResult>& before,
               const std::vector<NightResult>& after, std::size_t tight) {
  Change out;
  out.name = name;
  Mean late_before, past_before, late, past, worst;
  const std::size_t nights = std::min(before.size(), after.size());
  out.nights = static_cast<int>(nights);
  for (std::size_t i = 0; i < nights; ++i) {
    const Shares was = shares_of(manner, before[i]);
    const Shares is = shares_of(manner, after[i]);
    late_before.add(was.late_alone);
    past_before.add(was.past);
    late.add(is.late_alone - was.late_alone);
    past.add(is.past - was.past);
    worst.add(worst_of(after[i].stations[tight]) - worst_of(before[i].stations[tight]));
  }
  out.late_alone_before = late_before.estimate();
  out.past_before = past_before.estimate();
  out.late_alone = late.estimate();
  out.past = past.estimate();
  out.worst = worst.estimate();
  return out;
}

}  // namespace nappe::rehearse
