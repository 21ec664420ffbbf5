#include "common/rehearse/asked.hpp"

#include <fmt/format.h>

#include "common/words.hpp"

namespace nappe::rehearse {
namespace {

double counts_of(const kitchen::Station& station) {
  double sum = 0;
  for (const kitchen::Person& person : station.people) sum += person.counts;
  return sum;
}

std::string pairs_text(std::size_t pairs) {
  return counted(static_cast<std::int64_t>(pairs), "pair of hands", "pairs of hands");
}

std::string hands_in_words(const kitchen::Station& was, const kitchen::Station& is) {
  const std::string now = fmt::format("{}: {}", is.name, pairs_text(is.people.size()));
  if (was.people == is.people)
    return now +
           fmt::format(", as the house has {} (counting {:.3g})", is.people.size() == 1 ? "it" : "them", counts_of(is));
  return now + fmt::format(" instead of {}, counting {:.3g} instead of {:.3g}", was.people.size(), counts_of(is),
                           counts_of(was));
}

std::string_view rule_in_words(std::string_view rule) {
  if (rule == "alone") return "each table planned alone";
  if (rule == "fixed") return "each course planned backwards from the meet it was given";
  if (rule == "at_fire") return "everything begun as soon as its course is fired";
  return "all tables planned together";
}

}  // namespace

std::string title_of(const std::string& house, const std::string& sheets, int sheets_added, int booked, int covers) {
  const std::string title = fmt::format("{}, {}", house, sheets);
  if (covers != booked) return title + fmt::format(": brought to {}", counted(covers, "cover"));
  return sheets_added > 1 ? title + fmt::format(": {} in all", counted(covers, "cover")) : title;
}

std::vector<std::string> changes_in_words(const kitchen::Kitchen& house, const Stage& stage, const Variant& variant) {
  std::vector<std::string> out;
  for (const std::string& id : variant.without) {
    const kitchen::Dish* dish = house.find_dish(id);
    out.push_back("without " + (dish == nullptr ? id : dish->name));
  }
  for (const auto& [station, pairs] : variant.hands)
    out.push_back(hands_in_words(*house.find_station(station), *stage.kitchen->find_station(station)));
  return out;
}

std::string asked_sentence(const Asked& asked) {
  std::string text =
      fmt::format("Seed {}, {}, fresh … prompt {:.2f}", asked.seed, rule_in_words(asked.rule), asked.prompt);
  if (asked.bias != 1) text += fmt::format(", everything takes {:.4g} times as long as the files say", asked.bias);
  if (asked.scatter != 1) text += fmt::format(", durations scatter {:.4g} times as far", asked.scatter);
  if (asked.as_booked) text += ", orders taken from the sheet where it has them";
  for (const std::string& change : asked.changed) text += "; " + change;
  return text + ".";
}

}  // namespace nappe::rehearse
