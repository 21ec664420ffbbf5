#pragma once
// The two small bit mixers that seeds, keys and fingerprints stand on. Their results are part of recorded seeds and
// versions: they never change.

#include <cstdint>
#include <string_view>

namespace nappe {

/// The step between two states of SplitMix64 (Steele, Lea, Flood: "Fast splittable pseudorandom number generators",
/// OOPSLA 2014).
constexpr std::uint64_t splitmix64_step = 0x9E3779B97F4A7C15ULL;

/// SplitMix64's finisher: spreads a state over all bits.
constexpr std::uint64_t splitmix64_finish(std::uint64_t z) {
  z = (z ^ (z >> 30U)) * 0xBF58476D1CE4E5B9ULL;
  z = (z ^ (z >> 27U)) * 0x94D049BB133111EBULL;
  return z ^ (z >> 31U);
}

/// Where FNV-1a begins (Fowler, Noll, Vo), 64 bits.
constexpr std::uint64_t fnv1a_start = 0xCBF29CE484222325ULL;

/// FNV-1a, 64 bits, going on from `hash`. Tells texts apart; it is no seal against forgery.
constexpr std::uint64_t fnv1a(std::string_view bytes, std::uint64_t hash = fnv1a_start) {
  for (const char c : bytes) hash = (hash ^ static_cast<unsigned char>(c)) * 0x100000001B3ULL;
  return hash;
}

}  // namespace nappe
