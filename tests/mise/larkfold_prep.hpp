#pragma once
// The demo restaurant with its prep sheet and its bookings. Link nappe_prep.

#include "common/mise/prep_list.hpp"
#include "tests/support/larkfold.hpp"

namespace nappe::tests {

inline kitchen::File larkfold_file(const std::string& path) {
  for (const kitchen::File& file : larkfold_files())
    if (file.path == path) return file;
  throw std::runtime_error("no file " + path);
}

template <class T>
T must(kitchen::Loaded<T> loaded) {
  std::string all;
  for (const kitchen::Fault& fault : loaded.faults) all += kitchen::to_string(fault) + "\n";
  if (!loaded) throw std::runtime_error(all);
  return std::move(*loaded.value);
}

/// Everything a prep list is worked out from.
struct PrepHouse {
  kitchen::Kitchen kitchen = larkfold();
  kitchen::BatchSheet batches = must(kitchen::load_batches(larkfold_file("batches.json"), kitchen));
  kitchen::PrepSheet prep = must(kitchen::load_prep(larkfold_file("prep.json"), kitchen, batches));
  kitchen::BookingSheet friday = must(kitchen::load_bookings(larkfold_file("bookings.json"), kitchen));

  [[nodiscard]] mise::PrepList list(const mise::PrepTerms& terms = {}) const {
    return mise::make_list(kitchen, prep, friday, terms);
  }
};

inline const mise::Need& need_of(const std::vector<mise::Need>& needs, const std::string& item) {
  for (const mise::Need& one : needs)
    if (one.item == item) return one;
  throw std::runtime_error("no need of " + item);
}

}  // namespace nappe::tests
