#include "common/mise/prep_need.hpp"

#include <algorithm>
#include <cmath>
#include <functional>
#include <numeric>

#include "common/kitchen/allergen.hpp"
#include "common/mise/prep_quantity.hpp"

namespace nappe::mise {
namespace {

using kitchen::Booking;
using kitchen::Dish;
using kitchen::Kitchen;
using kitchen::PrepItem;
using kitchen::PrepSheet;

// Plates may be wanted a little before and after they are expected (common practice, no source).
constexpr Duration before_first = minutes(10);
constexpr Duration after_last = minutes(30);

bool goes_into(const PrepItem& item, const Dish& dish) {
  return std::any_of(dish.parts.begin(), dish.parts.end(), [&](const kitchen::Part& part) {
    return std::find(item.feeds.begin(), item.feeds.end(), part.component) != item.feeds.end();
  });
}

// The party as far as these dishes of one course are concerned.
Party party_of(const Booking& booking, const std::string& course, const std::vector<std::string>& dishes, double comes,
               bool as_booked) {
  Party out{booking.covers, 0, comes};
  const auto known = booking.orders.find(course);
  if (!as_booked || known == booking.orders.end()) return out;
  for (const auto& dish : known->second) {
    --out.open;
    if (dish && std::find(dishes.begin(), dishes.end(), *dish) != dishes.end()) ++out.certain;
  }
  return out;
}

std::vector<double> sum_of(const std::vector<double>& a, const std::vector<double>& b) {
  std::vector<double> out(a.size() + b.size() - 1, 0.0);
  for (std::size_t i = 0; i < a.size(); ++i)
    for (std::size_t j = 0; j < b.size(); ++j) out[i + j] += a[i] * b[j];
  return out;
}

int guests_without(const PrepItem& item, const std::vector<Booking>& bookings) {
  int out = 0;
  for (const Booking& booking : bookings) {
    for (const kitchen::GuestNote& guest : booking.guests) {
      if (guest.told) continue;  // nobody knows yet
      const bool meant = std::any_of(guest.allergies.begin(), guest.allergies.end(),
                                     [&](const std::string& one) { return kitchen::meets(one, item.only_for); });
      if (meant) ++out;
    }
  }
  return out;
}

Duration making_time(const PrepItem& item) {
  Duration out{};
  for (const kitchen::PrepStep& step : item.steps) out += step.fixed;
  return out;
}

// How likely a party's plates of a course are wanted in the time that is asked about.
using ChanceInTime = std::function<double(const Booking&, const std::string& course)>;

std::vector<double> orders_in_time(const Kitchen& kitchen, const PrepSheet& sheet, const PrepItem& item,
                                   const std::vector<Booking>& bookings, const PrepTerms& terms,
                                   const ChanceInTime& in_time) {
  std::vector<double> chances{1.0};
  for (const kitchen::CourseName& course : kitchen.courses) {
    std::vector<std::string> dishes;
    double share = 0;
    const auto mix = sheet.mix.find(course.id);
    for (const Dish& dish : kitchen.dishes) {
      if (dish.course != course.id || !goes_into(item, dish)) continue;
      dishes.push_back(dish.id);
      // A guest takes one dish of a course: the shares of several dishes add up.
      if (mix != sheet.mix.end() && mix->second.count(dish.id) > 0) share += mix->second.at(dish.id);
    }
    if (dishes.empty()) continue;
    std::vector<Party> parties;
    for (const Booking& booking : bookings)
      parties.push_back(
          party_of(booking, course.id, dishes, (1 - sheet.no_show) * in_time(booking, course.id), terms.as_booked));
    const auto of_course = orders(parties, {std::min(1.0, share), sheet.spread});
    if (of_course) chances = sum_of(chances, *of_course);
  }
  return chances;
}

// The parties that may want plates of this item, each with the time at which they are expected.
struct Wanted {
  Duration at{};
  const Booking* booking = nullptr;
  std::string course;
};

std::vector<Wanted> plates_of(const Kitchen& kitchen, const PrepSheet& sheet, const PrepItem& item,
                              const std::vector<Booking>& bookings) {
  std::vector<Wanted> out;
  for (std::size_t c = 0; c < kitchen.courses.size(); ++c) {
    const std::string& course = kitchen.courses[c].id;
    const bool used = std::any_of(kitchen.dishes.begin(), kitchen.dishes.end(),
                                  [&](const Dish& dish) { return dish.course == course && goes_into(item, dish); });
    if (!used) continue;
    for (const Booking& booking : bookings)
      out.push_back({booking.at + booking.late + sheet.orders_after + sheet.course_after * static_cast<int>(c),
                     &booking, course});
  }
  std::sort(out.begin(), out.end(), [](const Wanted& a, const Wanted& b) { return a.at < b.at; });
  return out;
}

// The chance that something expected at `at`, normally distributed about it, happens before `when`.
double chance_before(Duration at, Duration when, Duration sd) {
  if (sd <= Duration::zero()) return at < when ? 1 : 0;
  return 0.5 * std::erfc(-in_seconds(when - at) / (in_seconds(sd) * std::sqrt(2.0)));
}

void plan_births(const Kitchen& kitchen, const PrepSheet& sheet, const PrepItem& item,
                 const std::vector<Booking>& bookings, const PrepTerms& terms, Need& need) {
  const auto plates = plates_of(kitchen, sheet, item, bookings);
  if (plates.empty()) return;
  const Duration first = item.first_birth.value_or(plates.front().at - before_first);
  need.births = births_of(first, plates.back().at + after_last, *item.life, making_time(item));
  for (std::size_t i = 0; i < need.births.size(); ++i) {
    Birth& birth = need.births[i];
    const bool last = i + 1 == need.births.size();
    const ChanceInTime in_its_time = [&](const Booking& booking, const std::string& course) {
      double chance = 0;
      for (const Wanted& one : plates) {
        if (one.booking != &booking || one.course != course) continue;
        const double from = i == 0 ? 0 : chance_before(one.at, birth.at, sheet.plates_sd);
        const double to = last ? 1 : chance_before(one.at, need.births[i + 1].at, sheet.plates_sd);
        chance += to - from;
      }
      return std::clamp(chance, 0.0, 1.0);
    };
    const auto chances = orders_in_time(kitchen, sheet, item, bookings, terms, in_its_time);
    birth.mean = mean_of(chances);
    birth.portions = quantile(chances, need.ratio);
  }
  // A last batch that most nights nobody would eat of is not made.
  while (need.births.size() > 1 && need.births.back().portions == 0) need.births.pop_back();
}

void count_stock(const PrepSheet& sheet, const PrepItem& item, Need& need) {
  for (const kitchen::Stock& one : sheet.stock) {
    if (one.item != item.id) continue;
    need.stock.push_back(one);
    if (one.use_by_days < 0)
      need.past_date += one.portions;
    else if (one.unfit.empty())
      need.usable += one.portions;
  }
}

int portions_in(const PrepItem& item, double amount) {
  return static_cast<int>(std::floor((item.portion_g > 0 ? amount / item.portion_g : amount) + 1e-9));
}

void make_batches(const PrepItem& item, Need& need) {
  double short_of = 0;
  const double unit = item.portion_g > 0 ? item.portion_g : 1;
  if (need.births.empty()) {
    need.batches = batches_of(item, need.more * unit, short_of);
  } else {
    for (const Birth& birth : need.births) {
      double left = 0;
      const auto one = batches_of(item, birth.portions * unit, left);
      need.batches.push_back(std::accumulate(one.begin(), one.end(), 0.0));
      short_of += left;
    }
  }
  need.made_portions = portions_in(item, need.made());
  need.short_by = static_cast<int>(std::ceil(short_of / unit - 1e-9));
  for (const kitchen::Raw& raw : item.raw) need.raw.push_back({raw.ingredient, raw_grams(raw, need.made() / unit)});
}

}  // namespace

double Need::made() const { return std::accumulate(batches.begin(), batches.end(), 0.0); }

std::vector<double> item_orders(const Kitchen& kitchen, const PrepSheet& sheet, const PrepItem& item,
                                const std::vector<Booking>& bookings, const PrepTerms& terms) {
  return orders_in_time(kitchen, sheet, item, bookings, terms, [](const Booking&, const std::string&) { return 1.0; });
}

std::vector<Need> needs_of(const Kitchen& kitchen, const PrepSheet& sheet, const kitchen::BookingSheet& bookings,
                           const PrepTerms& terms) {
  std::vector<Need> out;
  for (const PrepItem& item : sheet.items) {
    Need need;
    need.item = item.id;
    need.name = item.name;
    need.station = item.station;
    need.weighed = item.portion_g > 0;
    need.ratio = terms.ratio.value_or(item.ratio.value_or(sheet.ratio));
    if (!item.into.empty()) {
      for (const Need& above : out)
        if (std::find(item.into.begin(), item.into.end(), above.item) != item.into.end()) {
          need.mean += above.mean;
          need.wanted += above.made_portions;
        }
    } else if (item.only_for.empty()) {
      const auto chances = item_orders(kitchen, sheet, item, bookings.bookings, terms);
      need.mean = mean_of(chances);
      need.wanted = quantile(chances, need.ratio);
    } else {
      const int booked = guests_without(item, bookings.bookings);
      need.mean = booked;
      need.wanted = booked + item.spare;
    }
    if (item.life) plan_births(kitchen, sheet, item, bookings.bookings, terms, need);
    if (!need.births.empty()) {
      // Each batch must last its own time: together they are more than one batch for the night would be.
      need.wanted = 0;
      for (const Birth& birth : need.births) need.wanted += birth.portions;
    }
    count_stock(sheet, item, need);
    need.more = std::max(0, need.wanted - (need.births.empty() ? need.usable : 0));
    make_batches(item, need);
    out.push_back(std::move(need));
  }
  return out;
}

double raw_grams(const kitchen::Raw& raw, double portions) {
  return portions * raw.grams / ((1 - raw.trim) * (1 - raw.loss));
}

std::vector<double> batches_of(const PrepItem& item, double amount, double& short_of) {
  short_of = 0;
  std::vector<double> out;
  auto steps = static_cast<std::int64_t>(std::ceil(amount / item.step - 1e-9));
  if (steps <= 0) return out;
  const auto most =
      item.most > 0 ? std::max<std::int64_t>(1, static_cast<std::int64_t>(item.most / item.step + 1e-9)) : steps;
  auto count = (steps + most - 1) / most;
  if (item.batches_max > 0 && count > item.batches_max) {
    count = item.batches_max;
    steps = count * most;
    short_of = amount - static_cast<double>(steps) * item.step;
  }
  for (std::int64_t i = 0; i < count; ++i) {
    const std::int64_t of_this = steps / count + (i < steps % count ? 1 : 0);
    out.push_back(static_cast<double>(of_this) * item.step);
  }
  return out;
}

std::vector<Birth> births_of(Duration first_plate, Duration last_plate, Duration life, Duration making) {
  std::vector<Birth> out;
  const Duration every = life - making;
  if (every <= Duration::zero()) return out;
  for (Duration at = first_plate; out.empty() || at < last_plate; at += every) {
    out.push_back({at, at + life, 0, 0});
    if (at + life >= last_plate) break;  // this one lives to the end
  }
  return out;
}

}  // namespace nappe::mise
