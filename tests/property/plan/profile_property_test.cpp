// The profile against one count per tick.
#include <catch2/catch.hpp>
#include <vector>

#include "common/plan/profile.hpp"
#include "tests/support/random.hpp"

using nappe::plan::Profile;
using nappe::tests::Random;

TEST_CASE("the profile agrees with plain counting and forgets what is given back") {
  for (std::uint64_t seed = 0; seed < 300; ++seed) {
    Random random(seed);
    const auto between = [&](int low, int high) { return static_cast<int>(random.between(low, high)); };
    const int begin = between(-100, 100);
    const int end = begin + between(1, 400);
    const int capacity = between(0, 9);
    Profile profile;
    profile.reset(capacity, begin, end);
    const Profile empty = profile;
    std::vector<int> counts(static_cast<std::size_t>(end - begin), 0);
    struct Placed {
      int from, to, units;
    };
    std::vector<Placed> placed;
    const auto count = [&](const Placed& p, int sign) {
      for (int t = std::max(p.from, begin); t < std::min(p.to, end); ++t)
        counts[static_cast<std::size_t>(t - begin)] += sign * p.units;
    };
    for (int i = 0; i < 60; ++i) {
      if (!placed.empty() && random.chance(0.4)) {
        const auto which = static_cast<std::size_t>(between(0, static_cast<int>(placed.size()) - 1));
        const Placed p = placed[which];
        placed.erase(placed.begin() + static_cast<std::ptrdiff_t>(which));
        profile.remove(p.from, p.to, p.units);
        count(p, -1);
      } else {
        const int from = between(begin - 20, end);
        const Placed p{from, from + between(0, 150), between(1, 4)};
        placed.push_back(p);
        profile.place(p.from, p.to, p.units);
        count(p, 1);
      }
      const int from = between(begin, end);
      const int to = between(from, end);
      const int units = between(1, 5);
      int first = to, last = from - 1;
      for (int t = from; t < to; ++t) {
        if (counts[static_cast<std::size_t>(t - begin)] + units <= capacity) continue;
        if (first == to) first = t;
        last = t;
      }
      std::vector<std::uint64_t> bits;
      profile.full_bits(from, to, units, bits);
      bool bits_agree = true;
      for (int t = from; t < to; ++t) {
        const auto b = static_cast<std::size_t>(t - from);
        const bool full = counts[static_cast<std::size_t>(t - begin)] + units > capacity;
        bits_agree = bits_agree && ((bits[b / 64] >> (b % 64) & 1U) != 0) == full;
      }
      CAPTURE(seed, i, from, to, units, capacity);
      REQUIRE(profile.first_full(from, to, units) == first);
      REQUIRE(profile.last_full(from, to, units) == last);
      REQUIRE(bits_agree);
      if (from < end) REQUIRE(profile.used(from) == counts[static_cast<std::size_t>(from - begin)]);
    }
    for (const Placed& p : placed) profile.remove(p.from, p.to, p.units);
    CAPTURE(seed);
    REQUIRE(profile == empty);
  }
}
