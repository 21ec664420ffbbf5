#pragma once
// Shortest projects with minimum and maximum lags (RCPSP/max): constraint posting. Where the earliest schedule that the
// lags allow overdraws a resource, one of the activities there has to wait for another. All such orders are tried depth
// first, the most constrained conflict first, so the search is complete: with enough nodes it proves an optimum, or
// that there is no schedule (Cesta, Oddi, Smith, Journal of Heuristics 8 (2002); the branching is De Reyck and
// Herroelen's, EJOR 111 (1998)).

#include <cstdint>
#include <optional>

#include "common/plan/project.hpp"

namespace nappe::plan {

struct LagEffort {
  int nodes = 20000;
  std::uint64_t seed = 1;
};

struct LagResult {
  std::optional<ProjectSchedule> schedule;
  bool proven = false;  ///< Optimal, or, without a schedule, impossible.
  int nodes = 0;        ///< Used.
};

[[nodiscard]] LagResult shorten_lagged_project(const Project& project, const LagEffort& effort);

}  // namespace nappe::plan
