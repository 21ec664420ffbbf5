#pragma once
// The kitchens of the benchmark folder and of the outside tests: MiniZinc data text to a KitchenProblem and back.

#include <string>
#include <vector>

#include "common/plan/kitchen_problem.hpp"

namespace nappe::tests {

/// What stands in such a file. Steps are numbered from 1 in the text, from 0 here.
struct KitchenDzn {
  int horizon = 0;
  std::vector<int> duration;
  std::vector<int> capacity;
  struct Usage {
    int step;
    int resource;
  };
  std::vector<Usage> usages;
  struct Lag {
    int from;
    int to;
    int min;
    int max;
    int price;
  };
  std::vector<Lag> lags;
  struct Plating {
    int step;
    int table;
  };
  std::vector<Plating> platings;
  std::vector<int> target;
  int max_spread = 0;
  int price_late = 0;
  int price_early = 0;
  int price_wait = 0;
};

/// Reads a file; aborts the test program when it is not of this form.
KitchenDzn read_kitchen_dzn(const std::string& text);

/// The same as text for MiniZinc.
std::string write_kitchen_dzn(const KitchenDzn& data);

/// The planner's problem. Steps joined by a lag of exactly 0 become one block. `step_block` and `step_offset`, when
/// given, say for each step in which block and how far into it the step starts.
plan::KitchenProblem kitchen_of(const KitchenDzn& data, std::vector<int>* step_block = nullptr,
                                std::vector<plan::Tick>* step_offset = nullptr);

}  // namespace nappe::tests
