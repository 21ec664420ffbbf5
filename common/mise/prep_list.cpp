#include "common/mise/prep_list.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "common/food/rules.hpp"
#include "common/mise/prep_words.hpp"
#include "common/words.hpp"

namespace nappe::mise {
namespace {

using kitchen::PrepItem;
using kitchen::PrepSheet;

void add_raw(std::vector<RawNeed>& sum, const std::vector<RawNeed>& more) {
  for (const RawNeed& one : more) {
    const auto found =
        std::find_if(sum.begin(), sum.end(), [&](const RawNeed& r) { return r.ingredient == one.ingredient; });
    if (found == sum.end()) {
      sum.push_back(one);
    } else {
      found->grams += one.grams;
    }
  }
}

CheckLine check_line(const PrepItem& item, const Need& need) {
  CheckLine line{item.id, item.name, item.station, need.made_portions + need.usable, 0, item.kept_in, item.kept_c, {}};
  if (!need.births.empty()) {
    line.portions = static_cast<int>(std::floor(need.batches.front() / (need.weighed ? item.portion_g : 1) + 1e-9));
    line.note = fmt::format("first batch, born {}", day_text(need.births.front().at));
  }
  if (need.weighed) line.grams = line.portions * item.portion_g;
  if (need.short_by > 0) line.note = fmt::format("{} short", need.short_by);
  return line;
}

const Need* find_need(const PrepList& list, const std::string& item) {
  const auto found = std::find_if(list.needs.begin(), list.needs.end(), [&](const Need& n) { return n.item == item; });
  return found == list.needs.end() ? nullptr : &*found;
}

std::string amount_text(double amount, bool weighed) {
  if (weighed) return weight_text(amount);
  return fmt::format("{:.0f} {}", amount, amount == 1 ? "portion" : "portions");
}

std::string batches_text(const Need& need) {
  if (need.batches.empty()) return "nothing to make";
  std::vector<std::string> each;
  for (const double batch : need.batches) each.push_back(amount_text(batch, need.weighed));
  std::string out = "make " + fmt::format("{}", fmt::join(each, " + "));
  if (need.weighed) out += fmt::format(" ({})", counted(need.made_portions, "portion"));
  if (need.over() > 0) out += fmt::format(", {} over", need.over());
  if (need.short_by > 0) out += fmt::format(", {} SHORT: the kit does not allow more today", need.short_by);
  return out;
}

std::string raw_text(const std::vector<RawNeed>& raw) {
  std::vector<std::string> each;
  for (const RawNeed& one : raw) each.push_back(fmt::format("{} {}", weight_text(one.grams), one.ingredient));
  return fmt::format("{}", fmt::join(each, ", "));
}

// What one item's change says.
std::string change_line(const Need& old, const Need& now) {
  const int portions = now.wanted - old.wanted;
  std::string out = fmt::format("{:+d} {}: {} wanted instead of {}", portions, now.name, now.wanted, old.wanted);
  if (now.batches != old.batches) {
    out += "; " + batches_text(now) + " instead of " + (old.batches.empty() ? "nothing" : batches_text(old).substr(5));
  }
  std::vector<std::string> raw;
  for (const RawNeed& one : now.raw) {
    const auto before =
        std::find_if(old.raw.begin(), old.raw.end(), [&](const RawNeed& r) { return r.ingredient == one.ingredient; });
    const double more = one.grams - (before == old.raw.end() ? 0 : before->grams);
    if (std::abs(more) >= 0.5) raw.push_back(signed_weight(more) + " " + one.ingredient);
  }
  if (!raw.empty()) out += fmt::format(" ({})", fmt::join(raw, ", "));
  return out;
}

void births_changes(const Need& old, const Need& now, std::vector<std::string>& out) {
  for (std::size_t i = 0; i < std::max(old.births.size(), now.births.size()); ++i) {
    if (i >= old.births.size()) {
      out.push_back(fmt::format("one batch of {} more, born {}", now.name, day_text(now.births[i].at)));
    } else if (i >= now.births.size()) {
      out.push_back(fmt::format("no batch of {} at {}", now.name, day_text(old.births[i].at)));
    } else if (old.births[i].at != now.births[i].at) {
      out.push_back(fmt::format("{}: batch {} is born {} instead of {}", now.name, i + 1, day_text(now.births[i].at),
                                day_text(old.births[i].at)));
    }
  }
}

void work_changes(const PrepList& before, const PrepList& after, std::vector<std::string>& out) {
  std::map<std::string, const Task*> old;
  for (const Task& task : before.work.tasks) old[task.id()] = &task;
  for (const Task& task : after.work.tasks) {
    const auto found = old.find(task.id());
    if (found == old.end()) {
      out.push_back(fmt::format("new at {}: {} ({})", day_text(task.begin), task.word, task.station));
    } else if (found->second->begin != task.begin || found->second->end != task.end) {
      out.push_back(fmt::format("{} ({}): {} to {} instead of {} to {}", task.word, task.station, day_text(task.begin),
                                day_text(task.end), day_text(found->second->begin), day_text(found->second->end)));
    }
    if (found != old.end()) old.erase(found);
  }
  for (const auto& [id, task] : old)
    out.push_back(fmt::format("no longer at {}: {} ({})", day_text(task->begin), task->word, task->station));
}

}  // namespace

PrepList make_list(const kitchen::Kitchen& kitchen, const PrepSheet& sheet, const kitchen::BookingSheet& bookings,
                   const PrepTerms& terms, const PrepList* before) {
  PrepList out;
  out.house = kitchen.name;
  out.title = bookings.title;
  out.parties = static_cast<int>(bookings.bookings.size());
  for (const kitchen::Booking& booking : bookings.bookings) out.covers += booking.covers;
  out.ratio = terms.ratio.value_or(sheet.ratio);
  out.as_booked = terms.as_booked;
  out.line_check = sheet.line_check;
  out.needs = needs_of(kitchen, sheet, bookings, terms);
  for (const Need& need : out.needs) add_raw(out.raw, need.raw);
  // What is made here is not taken from the store.
  std::erase_if(out.raw, [&](const RawNeed& raw) {
    return std::any_of(out.needs.begin(), out.needs.end(),
                       [&](const Need& need) { return need.name == raw.ingredient; });
  });
  std::sort(out.raw.begin(), out.raw.end(),
            [](const RawNeed& a, const RawNeed& b) { return a.ingredient < b.ingredient; });
  out.work = plan_work(kitchen, sheet, out.needs, before == nullptr ? nullptr : &before->work);
  for (const kitchen::Station& station : kitchen.stations) {
    for (const Need& need : out.needs) {
      const PrepItem* item = sheet.find(need.item);
      if (need.station != station.id || item == nullptr) continue;
      CheckLine line = check_line(*item, need);
      out.check.push_back(std::move(line));
    }
  }
  return out;
}

std::vector<std::string> changes(const PrepList& before, const PrepList& after) {
  std::vector<std::string> out;
  if (before.covers != after.covers)
    out.push_back(
        fmt::format("{:+d} covers: {} instead of {}", after.covers - before.covers, after.covers, before.covers));
  for (const Need& now : after.needs) {
    const Need* old = find_need(before, now.item);
    if (old == nullptr) {
      out.push_back(fmt::format("new: {}, {} wanted; {}", now.name, now.wanted, batches_text(now)));
      continue;
    }
    if (old->wanted != now.wanted || old->batches != now.batches) out.push_back(change_line(*old, now));
    births_changes(*old, now, out);
  }
  for (const Need& old : before.needs)
    if (find_need(after, old.item) == nullptr) out.push_back("no longer: " + old.name);
  work_changes(before, after, out);
  return out;
}

namespace {

// Batches of the record each by its name, the rest in one.
void add_thrown(const Need& need, Part& thrown) {
  int unnamed = 0;
  for (const kitchen::Stock& one : need.stock) {
    if (one.use_by_days >= 0) continue;
    if (one.batch.empty()) {
      unnamed += one.portions;
      continue;
    }
    thrown.lines.push_back(
        {"throw/" + one.batch, "", need.station,
         fmt::format("{}: {} of {}, use by {}", need.name, amount_text(one.portions, false), one.batch, one.until),
         one.where});
  }
  if (unnamed > 0)
    thrown.lines.push_back({"throw/" + need.item, "", need.station,
                            fmt::format("{}: {} past the date", need.name, amount_text(unnamed, false)), ""});
}

// From which batches of the record it comes, and which do not count; empty without a record.
std::string stock_text(const Need& need) {
  std::vector<std::string> each;
  for (const kitchen::Stock& one : need.stock) {
    if (one.batch.empty() || one.use_by_days < 0) continue;
    std::string text = one.unfit.empty() ? fmt::format("{} of {}", one.portions, one.batch)
                                         : fmt::format("none of {}: {}", one.batch, one.unfit);
    if (one.unfit.empty())
      text += fmt::format(" ({}use by {})", one.where.empty() ? std::string() : one.where + ", ", one.until);
    each.push_back(std::move(text));
  }
  return fmt::format("{}", fmt::join(each, "; "));
}

}  // namespace

std::vector<Part> parts_of(const PrepList& list) {
  Part thrown{"to throw, by name", {}};
  for (const Need& need : list.needs) add_thrown(need, thrown);
  Part work{"the day's work", {}};
  for (const Task& task : list.work.tasks) {
    const Need* need = find_need(list, task.item);
    std::string small = task.hands ? "" : "no hands";
    const auto add = [&](const std::string& more) { small += (small.empty() ? "" : "; ") + more; };
    if (need != nullptr && task.step == 0 && task.batch <= static_cast<int>(need->batches.size()))
      add(fmt::format("{}{}", amount_text(need->batches[static_cast<std::size_t>(task.batch - 1)], need->weighed),
                      task.of > 1 ? fmt::format(", batch {} of {}", task.batch, task.of) : ""));
    if (!task.detail.empty()) add(task.detail);
    add("until " + day_text(task.end));
    work.lines.push_back({task.id(), day_text(task.begin), task.station, task.word, small});
  }
  Part check{fmt::format("line check, {}: taste, probe, count", day_text(list.line_check)), {}};
  for (const CheckLine& line : list.check) {
    std::string text = fmt::format("{}: {}", line.name, amount_text(line.portions, false));
    if (line.grams > 0) text += " (" + weight_text(line.grams) + ")";
    std::string where = line.kept_in;
    if (line.kept_c) where += fmt::format("{}at most {:g} C", where.empty() ? "" : ", ", *line.kept_c);
    if (line.kept_c && *line.kept_c > 40) where = fmt::format("{}, {:g} C", line.kept_in, *line.kept_c);
    if (!line.note.empty()) where += (where.empty() ? "" : "; ") + line.note;
    check.lines.push_back({"check/" + line.item, "", line.station, text, where});
  }
  std::vector<Part> out;
  for (Part* part : {&thrown, &work, &check})
    if (!part->lines.empty()) out.push_back(std::move(*part));
  return out;
}

std::vector<Line> amounts_of(const PrepList& list) {
  std::vector<Line> out;
  for (const Need& need : list.needs) {
    Line line{need.item, "", need.station, "", raw_text(need.raw)};
    line.text = fmt::format("{}: {} wanted (mean {:.1f})", need.name, need.wanted, need.mean);
    const std::string from = stock_text(need);
    if (need.usable > 0) line.text += fmt::format(", {} there, {} more", need.usable, need.more);
    if (!from.empty()) line.text += fmt::format(" [{}]", from);
    line.text += "; " + batches_text(need);
    for (std::size_t i = 0; i < need.births.size(); ++i) {
      const Birth& birth = need.births[i];
      line.text += fmt::format("{}{} for {} to {}", i == 0 ? "; born " : ", ", birth.portions, day_text(birth.at),
                               day_text(birth.dies));
    }
    out.push_back(std::move(line));
  }
  return out;
}

std::vector<Line> chiller_of(const PrepList& list) {
  std::vector<Line> out;
  for (const Task& task : list.work.tasks) {
    if (task.trays == 0) continue;
    int most = 0;  // at the fullest moment of its time: some chill begins there
    for (const Task& begins : list.work.tasks) {
      if (begins.trays == 0 || begins.begin >= task.end || begins.end <= task.begin) continue;
      const Duration at = std::max(begins.begin, task.begin);
      int taken = 0;
      for (const Task& other : list.work.tasks)
        if (other.equipment == task.equipment && other.begin <= at && other.end > at) taken += other.trays;
      most = std::max(most, taken);
    }
    const Need* need = find_need(list, task.item);
    out.push_back(
        {task.id(), day_text(task.begin), task.station,
         fmt::format("{}, until {}: {}", need == nullptr ? task.item : need->name, day_text(task.end), task.detail),
         fmt::format("with what else is there at most {} {} taken", most, most == 1 ? "tray" : "trays")});
  }
  return out;
}

std::vector<std::string> remarks_of(const PrepList& list) {
  std::vector<std::string> out;
  const auto name = [&](const Shift& shift) {
    const Need* need = find_need(list, shift.item);
    std::string text = need == nullptr ? shift.item : need->name;
    if (need != nullptr && need->batches.size() > 1) text += fmt::format(", batch {}", shift.batch);
    return text;
  };
  for (const std::string& one : list.work.cannot) out.push_back("cannot be done: " + one);
  for (const Shift& shift : list.work.late)
    out.push_back(fmt::format("{} will be ready {} late: {}", name(shift), hours_text(-shift.by), shift.because));
  std::vector<std::string> for_hands;
  for (const Shift& shift : list.work.moved) {
    if (shift.hands) {
      for_hands.push_back(fmt::format("{} {}", name(shift), hours_text(shift.by)));
    } else {
      out.push_back(fmt::format("{} had to move {} earlier: {}", name(shift), hours_text(shift.by), shift.because));
    }
  }
  if (!for_hands.empty())
    out.push_back(fmt::format("for want of hands ready before they are wanted: {}", fmt::join(for_hands, ", ")));
  for (const Need& need : list.needs)
    if (need.short_by > 0)
      out.push_back(fmt::format("{}: {} short; a cap on the dish is for a person to set", need.name,
                                counted(need.short_by, "portion")));
  return out;
}

std::string prep_caution() {
  return fmt::format(
      "Amounts, times and depths are worked out from what this house wrote into its files. Taste it, "
      "probe it, weigh it: a list has never seen the food. {}",
      food::caution);
}

}  // namespace nappe::mise
