#include "common/food/use_by.hpp"

#include <algorithm>

namespace nappe::food {

Result<Ending> use_by(const BatchDates& dates) {
  std::vector<Ending> endings = dates.others;
  if (dates.life) {
    if (*dates.life < Duration::zero()) return Error{Errc::invalid, "the life of a batch cannot be negative"};
    endings.push_back({"life of the component", dates.made + *dates.life});
  }
  if (dates.vacuum_packed && !dates.other_control) endings.push_back({"vacuum packed", dates.made + vacuum_life});
  if (dates.reheated) {
    if (!dates.end_of_that_day || *dates.end_of_that_day < *dates.reheated) {
      return Error{Errc::invalid, "it was reheated: say when that day ends, for it is used the same day"};
    }
    endings.push_back({"reheated: same day", *dates.end_of_that_day});
  }
  if (endings.empty()) {
    return Error{Errc::invalid, "nothing says until when this batch may be used: give the component a life"};
  }
  return *std::min_element(endings.begin(), endings.end(),
                           [](const Ending& a, const Ending& b) { return a.at < b.at; });
}

std::chrono::sys_days last_day(std::chrono::sys_days made, int days, bool first_day_counts) {
  return made + std::chrono::days(first_day_counts ? days - 1 : days);
}

}  // namespace nappe::food
