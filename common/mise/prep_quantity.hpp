#pragma once
// How many portions to have ready: the newsvendor's quantile of what the room may order.
//
// Guests of one night copy each other and nights differ, so the number of orders of a dish is wider than a binomial:
// the night's share is itself drawn from a beta distribution, which makes orders beta-binomial (J. G. Skellam, "A
// probability distribution derived from the binomial distribution", J. R. Statist. Soc. B 10 (1948) 257). The quantity
// is the smallest q with P(orders <= q) >= cu / (cu + co), the newsvendor's critical ratio (Arrow, Harris, Marschak,
// "Optimal inventory policy", Econometrica 19 (1951) 250).

#include <vector>

#include "common/result.hpp"

namespace nappe::mise {

/// How one dish is taken: the mean share of the covers, and the correlation of two guests of one night (0: every guest
/// chooses alone). share in [0, 1], spread in [0, 1).
struct Taste {
  double share = 0;
  double spread = 0;
};

/// P(k of n guests take it), k = 0 ... n. With a and b of the beta distribution: share = a / (a + b), spread =
/// 1 / (a + b + 1).
std::vector<double> beta_binomial(int n, const Taste& taste);

/// A party as far as this dish is concerned.
struct Party {
  int open = 0;      ///< Guests whose order nobody knows yet.
  int certain = 0;   ///< Guests who have ordered it beforehand.
  double comes = 1;  ///< The chance that the party comes at all.
};

/// P(k portions are ordered), over all parties: each comes or stays away as a whole, what it ordered beforehand comes
/// with it, the open guests choose beta-binomially together. `invalid` for a chance outside [0, 1] or a negative count.
Result<std::vector<double>> orders(const std::vector<Party>& parties, const Taste& taste);

/// The mean of a distribution on 0, 1, 2, ...
double mean_of(const std::vector<double>& chances);

/// The smallest q with P(orders <= q) >= ratio; the last one when rounding leaves the sum short of it.
int quantile(const std::vector<double>& chances, double ratio);

/// cu / (cu + co): what one portion too few costs against one too many, in the same money. Both at least 0, one above.
double critical_ratio(double too_few, double too_many);

}  // namespace nappe::mise
