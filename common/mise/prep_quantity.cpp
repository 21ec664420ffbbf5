#include "common/mise/prep_quantity.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numeric>

namespace nappe::mise {
namespace {

std::size_t at(int index) { return static_cast<std::size_t>(index); }

// One guest more, who takes it with the chance that those before suggest: k of n took it (Polya's urn). Only sums of
// positive numbers, so nothing is lost to cancellation.
std::vector<double> one_guest_more(const std::vector<double>& before, double share, double weight) {
  const int n = static_cast<int>(before.size()) - 1;
  std::vector<double> after(before.size() + 1, 0.0);
  for (int k = 0; k <= n; ++k) {
    // weight = a + b; infinite weight is the plain binomial.
    const double takes = std::isinf(weight) ? share : (share * weight + k) / (weight + n);
    after[at(k + 1)] += before[at(k)] * takes;
    after[at(k)] += before[at(k)] * (1 - takes);
  }
  return after;
}

double urn_weight(double spread) { return spread > 0 ? 1 / spread - 1 : INFINITY; }

}  // namespace

std::vector<double> beta_binomial(int n, const Taste& taste) {
  std::vector<double> chances{1.0};
  for (int guest = 0; guest < n; ++guest) chances = one_guest_more(chances, taste.share, urn_weight(taste.spread));
  return chances;
}

Result<std::vector<double>> orders(const std::vector<Party>& parties, const Taste& taste) {
  if (!(taste.share >= 0 && taste.share <= 1) || !(taste.spread >= 0 && taste.spread < 1))
    return Error{Errc::invalid, fmt::format("a share of {} with a spread of {}: both lie from 0 to 1, the spread below "
                                            "1",
                                            taste.share, taste.spread)};
  int open = 0;
  int certain = 0;
  for (const Party& party : parties) {
    if (party.open < 0 || party.certain < 0 || !(party.comes >= 0 && party.comes <= 1))
      return Error{Errc::invalid, fmt::format("a party of {} open and {} certain guests that comes with a chance of "
                                              "{}: counts are 0 or more, a chance from 0 to 1",
                                              party.open, party.certain, party.comes)};
    open += party.open;
    certain += party.certain;
  }
  // P(u open guests and k certain ones come), row by row of u.
  const auto cell = [&](int u, int k) { return at(u) * (at(certain) + 1) + at(k); };
  std::vector<double> come((at(open) + 1) * (at(certain) + 1), 0.0);
  come[0] = 1;
  int open_so_far = 0;
  int certain_so_far = 0;
  for (const Party& party : parties) {
    for (int u = open_so_far; u >= 0; --u) {
      for (int k = certain_so_far; k >= 0; --k) {
        const double here = come[cell(u, k)];
        come[cell(u, k)] = here * (1 - party.comes);
        come[cell(u + party.open, k + party.certain)] += here * party.comes;
      }
    }
    open_so_far += party.open;
    certain_so_far += party.certain;
  }
  std::vector<double> out(at(open + certain) + 1, 0.0);
  std::vector<double> taken{1.0};
  for (int u = 0; u <= open; ++u) {
    if (u > 0) taken = one_guest_more(taken, taste.share, urn_weight(taste.spread));
    for (int k = 0; k <= certain; ++k) {
      const double chance = come[cell(u, k)];
      if (chance == 0) continue;
      for (int t = 0; t <= u; ++t) out[at(t + k)] += chance * taken[at(t)];
    }
  }
  return out;
}

double mean_of(const std::vector<double>& chances) {
  double sum = 0;
  for (std::size_t k = 0; k < chances.size(); ++k) sum += static_cast<double>(k) * chances[k];
  return sum;
}

int quantile(const std::vector<double>& chances, double ratio) {
  double sum = 0;
  for (std::size_t k = 0; k < chances.size(); ++k) {
    sum += chances[k];
    // A ratio that is met but for the last bits of a sum of some hundred numbers is met.
    if (sum >= ratio - 1e-12) return static_cast<int>(k);
  }
  return std::max(0, static_cast<int>(chances.size()) - 1);
}

double critical_ratio(double too_few, double too_many) { return too_few / (too_few + too_many); }

}  // namespace nappe::mise
