#pragma once
// How an expected failure travels: a value or one clear sentence.

#include <string>
#include <utility>
#include <variant>

namespace nappe {

/// What kind of failure it is. The wire name and the HTTP status of each stand in wire/problem.cpp.
enum class Errc {
  invalid,     ///< The request itself is wrong: unreadable, out of range, an unknown word.
  unknown,     ///< It names something that is not there.
  conflict,    ///< It no longer fits: another hand did it, the state has moved on.
  refused,     ///< The kitchen's rules say no (an allergy, a rest, nothing left); it may say how to insist.
  forbidden,   ///< This device or person may not do it.
  too_many,    ///< A bound was reached.
  unavailable  ///< It cannot be done now (the journal failed, the server is closing).
};

/// A failure in words: what, where, and what to do. `detail` is one sentence for a person.
struct Error {
  Errc code = Errc::invalid;
  std::string detail;
  /// Where in the input, as an RFC 6901 JSON pointer or a "line:column"; may be empty.
  std::string where = {};
};

/// A value, or why there is none.
template <class T>
class [[nodiscard]] Result {
 public:
  Result(T value) : held_(std::in_place_index<0>, std::move(value)) {}
  Result(Error error) : held_(std::in_place_index<1>, std::move(error)) {}

  explicit operator bool() const { return held_.index() == 0; }
  const T& value() const& { return std::get<0>(held_); }
  T& value() & { return std::get<0>(held_); }
  T&& value() && { return std::get<0>(std::move(held_)); }
  const Error& error() const { return std::get<1>(held_); }

  const T& operator*() const& { return value(); }
  T& operator*() & { return value(); }
  const T* operator->() const { return &value(); }
  T* operator->() { return &value(); }

 private:
  std::variant<T, Error> held_;
};

/// Success without a value.
struct Done {};

/// Success, or why not.
using Status = Result<Done>;

}  // namespace nappe
