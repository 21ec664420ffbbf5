#pragma once
// Larkfold's evenings for the tests of the rehearsal.

#include <stdexcept>
#include <string>

#include "common/rehearse/night.hpp"
#include "tests/support/larkfold.hpp"

namespace nappe::tests {

inline kitchen::BookingSheet larkfold_sheet(const kitchen::Kitchen& kitchen, const std::string& file) {
  auto sheet =
      kitchen::load_bookings({file, read_text(std::string(NAPPE_SOURCE_DIR "/config/larkfold/") + file)}, kitchen);
  if (!sheet) throw std::runtime_error(kitchen::to_string(sheet.faults.front()));
  return std::move(*sheet.value);
}

/// Friday: 48 covers.
inline kitchen::BookingSheet larkfold_friday(const kitchen::Kitchen& kitchen) {
  return larkfold_sheet(kitchen, "bookings.json");
}

/// Saturday: Friday's sheet and four more tables, 60 covers.
inline kitchen::BookingSheet larkfold_saturday(const kitchen::Kitchen& kitchen) {
  auto all = larkfold_friday(kitchen);
  for (auto& booking : larkfold_sheet(kitchen, "saturday.json").bookings) all.bookings.push_back(std::move(booking));
  return all;
}

/// A stage, or the test program ends with the sentence.
inline rehearse::Stage stage_of(const kitchen::Kitchen& kitchen, const kitchen::BookingSheet& sheet,
                                const rehearse::Variant& variant = {}) {
  auto stage = rehearse::make_stage(kitchen, sheet, variant);
  if (!stage) throw std::runtime_error(stage.error().detail);
  return std::move(stage).value();
}

/// A Friday that nobody can finish: one pair of hands at garnish, and everything takes ten times as long.
struct FarTooMuch {
  rehearse::Stage stage;
  rehearse::Manner manner;
};
inline FarTooMuch far_too_much() {
  const auto kitchen = larkfold();
  rehearse::Variant one;
  one.hands["garnish"] = 1;
  rehearse::Manner manner;
  manner.rule = rehearse::Rule::fixed;
  manner.bias = 10;
  return {stage_of(kitchen, larkfold_friday(kitchen), one), manner};
}

}  // namespace nappe::tests
