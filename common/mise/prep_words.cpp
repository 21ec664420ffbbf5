#include "common/mise/prep_words.hpp"

#include <fmt/format.h>

#include <cmath>

namespace nappe::mise {

std::string day_text(Duration since_midnight) {
  const auto whole = std::chrono::floor<std::chrono::minutes>(since_midnight).count();
  return fmt::format("{:02}:{:02}", (whole / 60) % 24, whole % 60);
}

std::string hours_text(Duration length) {
  const auto whole = std::chrono::ceil<std::chrono::minutes>(length).count();
  if (whole < 60) return fmt::format("{} min", whole);
  return fmt::format("{}:{:02} h", whole / 60, whole % 60);
}

std::string weight_text(double grams) {
  const double grams_whole = std::round(grams);
  if (std::abs(grams_whole) < 1000) return fmt::format("{:.0f} g", grams_whole);
  const double kg = std::round(grams / 50) / 20;
  const bool tenths = std::abs(kg * 10 - std::round(kg * 10)) < 1e-9;
  return tenths ? fmt::format("{:.1f} kg", kg) : fmt::format("{:.2f} kg", kg);
}

std::string signed_weight(double grams) { return (grams < 0 ? "-" : "+") + weight_text(std::abs(grams)); }

}  // namespace nappe::mise
