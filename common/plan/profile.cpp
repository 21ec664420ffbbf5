#include "common/plan/profile.hpp"

#include <algorithm>
#include <bit>

namespace nappe::plan {

/// The bits of word `word` that lie in [first, last).
std::uint64_t Profile::mask_of(std::size_t word, std::size_t first, std::size_t last) {
  std::uint64_t mask = ~std::uint64_t{0};
  if (word == first / 64) mask &= ~std::uint64_t{0} << (first % 64);
  if (word == (last - 1) / 64) mask &= ~std::uint64_t{0} >> (63 - (last - 1) % 64);
  return mask;
}

void Profile::reset(int capacity, std::int32_t begin, std::int32_t end) {
  capacity_ = capacity;
  planes_ = capacity;
  begin_ = begin;
  end_ = std::max(begin, end);
  words_ = (static_cast<std::size_t>(end_ - begin_) + 63) / 64;
  bits_.assign(words_ * static_cast<std::size_t>(planes_), 0);
}

void Profile::deepen(int planes) {
  planes_ = std::max(planes_, planes);
  bits_.resize(words_ * static_cast<std::size_t>(planes_), 0);
}

void Profile::place(std::int32_t from, std::int32_t to, int units) {
  from = std::max(from, begin_);
  to = std::min(to, end_);
  if (from >= to || units <= 0) return;
  const auto first = static_cast<std::size_t>(from - begin_);
  const auto last = static_cast<std::size_t>(to - begin_);
  if (units > planes_) deepen(units);
  for (std::size_t word = first / 64; word <= (last - 1) / 64; ++word) {
    const std::uint64_t mask = mask_of(word, first, last);
    int top = planes_;
    while (top > 0 && (plane(top)[word] & mask) == 0) --top;
    if (top + units > planes_) deepen(top + units);
    for (int j = top + units; j > units; --j) plane(j)[word] |= plane(j - units)[word] & mask;
    for (int j = 1; j <= units; ++j) plane(j)[word] |= mask;
  }
}

void Profile::remove(std::int32_t from, std::int32_t to, int units) {
  from = std::max(from, begin_);
  to = std::min(to, end_);
  if (from >= to || units <= 0) return;
  const auto first = static_cast<std::size_t>(from - begin_);
  const auto last = static_cast<std::size_t>(to - begin_);
  for (std::size_t word = first / 64; word <= (last - 1) / 64; ++word) {
    const std::uint64_t mask = mask_of(word, first, last);
    for (int j = 1; j <= planes_; ++j) {
      std::uint64_t& bits = plane(j)[word];
      bits = (bits & ~mask) | (j + units <= planes_ ? plane(j + units)[word] & mask : 0);
    }
  }
}

std::int32_t Profile::first_full(std::int32_t from, std::int32_t to, int units) const {
  const std::int32_t low = std::max(from, begin_);
  const std::int32_t high = std::min(to, end_);
  if (low >= high || units <= 0) return to;
  if (units > capacity_) return low;
  const std::uint64_t* bits = full_plane(units);
  const auto first = static_cast<std::size_t>(low - begin_);
  const auto last = static_cast<std::size_t>(high - begin_);  // beyond the last tick
  std::size_t word = first / 64;
  std::uint64_t rest = bits[word] & (~std::uint64_t{0} << (first % 64));
  const std::size_t word_last = (last - 1) / 64;
  while (rest == 0) {
    if (word == word_last) return to;
    rest = bits[++word];
  }
  const auto found = begin_ + static_cast<std::int32_t>(word * 64) + std::countr_zero(rest);
  return found < high ? found : to;
}

std::int32_t Profile::last_full(std::int32_t from, std::int32_t to, int units) const {
  const std::int32_t low = std::max(from, begin_);
  const std::int32_t high = std::min(to, end_);
  if (low >= high || units <= 0) return from - 1;
  if (units > capacity_) return high - 1;
  const std::uint64_t* bits = full_plane(units);
  const auto first = static_cast<std::size_t>(low - begin_);
  const auto last = static_cast<std::size_t>(high - begin_) - 1;  // the last tick itself
  std::size_t word = last / 64;
  std::uint64_t rest = bits[word] & (~std::uint64_t{0} >> (63 - last % 64));
  const std::size_t word_first = first / 64;
  while (rest == 0) {
    if (word == word_first) return from - 1;
    rest = bits[--word];
  }
  const auto found = begin_ + static_cast<std::int32_t>(word * 64) + 63 - std::countl_zero(rest);
  return found >= low ? found : from - 1;
}

bool Profile::overdrawn(std::int32_t from, std::int32_t to) const {
  from = std::max(from, begin_);
  to = std::min(to, end_);
  if (from >= to || planes_ <= capacity_) return false;
  const auto first = static_cast<std::size_t>(from - begin_);
  const auto last = static_cast<std::size_t>(to - begin_);
  for (std::size_t word = first / 64; word <= (last - 1) / 64; ++word) {
    if ((plane(capacity_ + 1)[word] & mask_of(word, first, last)) != 0) return true;
  }
  return false;
}

void Profile::full_bits(std::int32_t from, std::int32_t to, int units, std::vector<std::uint64_t>& bits) const {
  const auto count = static_cast<std::size_t>(std::max(0, to - from));
  bits.assign((count + 63) / 64, 0);
  const std::int32_t low = std::max(from, begin_);
  const std::int32_t high = std::min(to, end_);
  if (low >= high || units <= 0) return;
  if (units > capacity_) return bits.assign(bits.size(), ~std::uint64_t{0});
  const std::uint64_t* source = full_plane(units);
  auto read = static_cast<std::size_t>(low - begin_);  // next bit of the source
  auto write = static_cast<std::size_t>(low - from);   // next bit of the answer
  auto left = static_cast<std::size_t>(high - low);
  while (left > 0) {
    const std::size_t room = std::min({left, 64 - write % 64, 64 - read % 64});
    const std::uint64_t mask = room == 64 ? ~std::uint64_t{0} : (std::uint64_t{1} << room) - 1;
    bits[write / 64] |= ((source[read / 64] >> (read % 64)) & mask) << (write % 64);
    read += room;
    write += room;
    left -= room;
  }
}

int Profile::used(std::int32_t tick) const {
  if (tick < begin_ || tick >= end_) return 0;
  const auto offset = static_cast<std::size_t>(tick - begin_);
  int count = 0;
  while (count < planes_ && (plane(count + 1)[offset / 64] >> (offset % 64) & 1U) != 0) ++count;
  return count;
}

bool Profile::operator==(const Profile& other) const {
  if (capacity_ != other.capacity_ || begin_ != other.begin_ || end_ != other.end_) return false;
  const Profile& deep = planes_ >= other.planes_ ? *this : other;
  const Profile& flat = planes_ >= other.planes_ ? other : *this;
  const auto common = static_cast<std::ptrdiff_t>(flat.bits_.size());
  return std::equal(flat.bits_.begin(), flat.bits_.end(), deep.bits_.begin()) &&
         std::all_of(deep.bits_.begin() + common, deep.bits_.end(), [](std::uint64_t bits) { return bits == 0; });
}

}  // namespace nappe::plan
