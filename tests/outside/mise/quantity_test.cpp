// How many portions: the distribution against published counts, against Boost.Math by another way, and against what is
// known exactly.
#include <boost/math/distributions/beta.hpp>
#include <boost/math/distributions/binomial.hpp>
#include <boost/math/quadrature/tanh_sinh.hpp>
#include <catch2/catch.hpp>
#include <cmath>
#include <numeric>

#include "common/mise/prep_quantity.hpp"

using namespace nappe::mise;

namespace {

// P(X <= k) as an integral: the binomial's own distribution function averaged over the beta distribution of the share.
double by_integration(int k, int n, double share, double spread) {
  const double weight = 1 / spread - 1;
  const boost::math::beta_distribution<double> beta(share * weight, (1 - share) * weight);
  const auto inside = [&](double p) {
    return boost::math::pdf(beta, p) * boost::math::cdf(boost::math::binomial_distribution<double>(n, p), k);
  };
  boost::math::quadrature::tanh_sinh<double> rule;  // bears a density that is infinite at its ends
  return rule.integrate(inside, 0.0, 1.0, 1e-11);
}

double up_to(const std::vector<double>& chances, int k) {
  return std::accumulate(chances.begin(), chances.begin() + k + 1, 0.0);
}

}  // namespace

TEST_CASE("boys in 6115 families of twelve: the beta-binomial of the literature") {
  // Geissler's count of families in Saxony, 1876 to 1885, as fitted by a beta-binomial with a = 34.1350 and b = 31.6085
  // (J. K. Lindsey and P. M. E. Altham, "Analysis of the human sex ratio by using overdispersion models", Applied
  // Statistics 47 (1998) 149; fitted counts from memory, reproduced here to 0.3 of a family).
  const std::vector<double> fitted{2.3,    22.6,  104.8, 310.9, 655.7, 1036.2, 1257.9,
                                   1182.1, 853.6, 461.9, 177.9, 43.8,  5.2};
  const double a = 34.1350;
  const double b = 31.6085;
  const auto chances = beta_binomial(12, {a / (a + b), 1 / (a + b + 1)});
  REQUIRE(chances.size() == fitted.size());
  for (std::size_t k = 0; k < fitted.size(); ++k) {
    INFO(k << " boys");
    CHECK(6115 * chances[k] == Approx(fitted[k]).margin(0.3));
  }
}

TEST_CASE("the distribution is the binomial averaged over a beta distribution, as Boost.Math has both") {
  for (const auto& [n, share, spread] : {std::tuple{48, 0.40, 0.03}, std::tuple{48, 0.24, 0.03},
                                         std::tuple{60, 0.55, 0.10}, std::tuple{12, 0.05, 0.20}}) {
    const auto chances = beta_binomial(n, {share, spread});
    for (int k = 0; k <= n; k += 3) {
      INFO(n << " guests, share " << share << ", spread " << spread << ", up to " << k);
      CHECK(up_to(chances, k) == Approx(by_integration(k, n, share, spread)).margin(1e-8));
    }
  }
}

TEST_CASE("known exactly: a flat share gives every count alike, no spread gives the binomial") {
  // a = b = 1: P(k) = 1 / (n + 1) for every k (Bayes 1763).
  for (const double chance : beta_binomial(20, {0.5, 1.0 / 3})) CHECK(chance == Approx(1.0 / 21).epsilon(1e-12));
  const auto plain = beta_binomial(48, {0.4, 0});
  const boost::math::binomial_distribution<double> binomial(48, 0.4);
  for (int k = 0; k <= 48; ++k)
    CHECK(plain[static_cast<std::size_t>(k)] == Approx(boost::math::pdf(binomial, k)).epsilon(1e-10));
}

TEST_CASE("mean n p and variance n p (1 - p) (1 + (n - 1) spread)") {
  const int n = 48;
  const Taste taste{0.36, 0.05};
  const auto chances = beta_binomial(n, taste);
  double variance = 0;
  for (int k = 0; k <= n; ++k)
    variance += chances[static_cast<std::size_t>(k)] * (k - n * taste.share) * (k - n * taste.share);
  CHECK(mean_of(chances) == Approx(n * taste.share).epsilon(1e-12));
  CHECK(variance == Approx(n * taste.share * (1 - taste.share) * (1 + (n - 1) * taste.spread)).epsilon(1e-10));
}

TEST_CASE("48 covers at 40 %: 22 portions at 0.70, 25 at 0.85, 28 at 0.95") {
  // Worked out once by a separate program from the beta-binomial with spread 0.03; and the same by Boost.Math.
  const auto chances = beta_binomial(48, {0.40, 0.03});
  for (const auto& [ratio, portions] : {std::pair{0.70, 22}, std::pair{0.85, 25}, std::pair{0.95, 28}}) {
    CHECK(quantile(chances, ratio) == portions);
    CHECK(by_integration(portions, 48, 0.40, 0.03) >= ratio);
    CHECK(by_integration(portions - 1, 48, 0.40, 0.03) < ratio);
  }
}

TEST_CASE("the newsvendor's ratio") {
  // Cost of one too few 7, of one too many 3: 0.7 (Nahmias, Production and Operations Analysis, the usual example
  // form).
  CHECK(critical_ratio(7, 3) == Approx(0.7));
  // Larkfold's hogget: 24.20 lost with a guest who cannot have it, 4.27 of food thrown: 0.85.
  CHECK(critical_ratio(24.20, 4.27) == Approx(0.85).margin(0.001));
}
