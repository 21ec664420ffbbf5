// The rehearsal's chances against published distributions.
#include <catch2/catch.hpp>
#include <cmath>
#include <vector>

#include "common/rehearse/draws.hpp"
#include "common/rehearse/summary.hpp"

using namespace nappe;
using namespace nappe::rehearse;

TEST_CASE("log-normal quantiles are those of the tables") {
  // exp(mu + sigma z) with z 0.9/0.95/0.99 = 1.2815516 / 1.6448536 / 2.3263479 (standard normal table).
  CHECK(log_normal_quantile(1, 1, 0.9) == Approx(3.602224).epsilon(1e-6));
  CHECK(log_normal_quantile(1, 1, 0.95) == Approx(5.180252).epsilon(1e-6));
  CHECK(log_normal_quantile(1, 1, 0.99) == Approx(10.240474).epsilon(1e-6));
  CHECK(log_normal_quantile(10, 0.25, 0.9) == Approx(13.776620).epsilon(1e-6));
  CHECK(log_normal_quantile(10, 0.5, 0.99) == Approx(32.000740).epsilon(1e-6));
}

TEST_CASE("the cheapest lead of a component follows the critical ratio") {
  // Newsvendor with log-normal durations, median 10 min, sigma 0.18 (computed by hand from the normal table).
  CHECK(log_normal_quantile(10, 0.18, 0.8) == Approx(11.6).margin(0.05));
  CHECK(log_normal_quantile(10, 0.18, 0.9) == Approx(12.6).margin(0.05));
  CHECK(log_normal_quantile(10, 0.18, 0.95) == Approx(13.4).margin(0.05));
}

TEST_CASE("a rest centred on the guess catches as many nights as the normal distribution says") {
  // 2 Phi(3 / 3.5) - 1 = 0.6086 (normal table: Phi(0.857) = 0.8043).
  CHECK(centred_chance(minutes(6), seconds(210)) == Approx(0.61).margin(0.005));
  CHECK(centred_chance(minutes(6), Duration::zero()) == 1.0);
  CHECK(centred_chance(Duration::zero(), seconds(210)) == Approx(0.0).margin(1e-12));
}

TEST_CASE("draws have the moments of their distributions") {
  const Draws draws(3, 1);
  const int n = 40000;
  double sum = 0, squares = 0, fourth = 0, exponential = 0;
  std::vector<int> tenths(10, 0);
  for (int i = 0; i < n; ++i) {
    const auto k = static_cast<std::uint64_t>(i);
    const double z = draws.normal(Stream::step, {k});
    sum += z;
    squares += z * z;
    fourth += z * z * z * z;
    exponential += draws.exponential(Stream::dish, {k});
    ++tenths[static_cast<std::size_t>(draws.unit(Stream::none, {k}) * 10)];
  }
  // Standard errors of the mean, variance and fourth moment of a normal: 1, sqrt 2, sqrt 96 over root n.
  CHECK(std::abs(sum / n) < 4.0 / std::sqrt(n));
  CHECK(std::abs(squares / n - 1) < 4 * std::sqrt(2.0 / n));
  CHECK(std::abs(fourth / n - 3) < 4 * std::sqrt(96.0 / n));
  CHECK(std::abs(exponential / n - 1) < 4.0 / std::sqrt(n));
  // Pearson's chi-squared with 9 degrees of freedom: 27.88 is passed once in a thousand (table).
  double chi = 0;
  for (const int count : tenths) chi += (count - n / 10.0) * (count - n / 10.0) / (n / 10.0);
  CHECK(chi < 27.88);
}

TEST_CASE("SplitMix64 gives its published sequence") {
  // Vigna's splitmix64.c, seed 1234567, as listed by Rosetta Code "Pseudo-random numbers/Splitmix64".
  std::uint64_t state = 1234567;
  const std::uint64_t published[] = {6457827717110365317ULL, 3203168211198807973ULL, 9817491932198370423ULL,
                                     4593380528125082431ULL, 16408922859458223821ULL};
  for (const std::uint64_t value : published) {
    CHECK(mix(state) == value);
    state += 0x9E3779B97F4A7C15ULL;
  }
}

TEST_CASE("sample quantiles are those of type 7") {
  // The twenty values of Jain and Chlamtac, CACM 28(10), 1985; linear quantiles by an independent computation.
  const std::vector<double> data{0.02,  0.15,  0.74, 3.39, 0.83, 22.37, 10.15, 15.43, 38.62, 15.92,
                                 34.60, 10.28, 1.47, 0.40, 0.05, 11.39, 0.27,  0.42,  0.09,  11.37};
  CHECK(sample_quantile(data, 0.25) == Approx(0.3675));
  CHECK(sample_quantile(data, 0.5) == Approx(2.43));
  CHECK(sample_quantile(data, 0.75) == Approx(12.40));
  CHECK(sample_quantile(data, 0.9) == Approx(23.593));
  CHECK(sample_quantile(data, 0.95) == Approx(34.801));
}

TEST_CASE("a mean's standard error is the textbook's") {
  // 2 4 4 4 5 5 7 9: mean 5, squared deviations 32, sample variance 32/7, standard error sqrt(32/7/8).
  Mean mean;
  for (const double value : {2., 4., 4., 4., 5., 5., 7., 9.}) mean.add(value);
  CHECK(mean.estimate().mean == Approx(5));
  CHECK(mean.estimate().error == Approx(std::sqrt(32.0 / 7 / 8)));
}
