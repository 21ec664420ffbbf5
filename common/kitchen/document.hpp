#pragma once
// A kitchen file as a tree that remembers where everything stood, so that a fault can point at it.

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace nappe::kitchen {

/// A file as it was read. `path` is only ever repeated in faults.
struct File {
  std::string path;
  std::string text;
};

/// One thing wrong in one place of a file.
struct Fault {
  std::string file;
  int line = 1;         ///< From 1.
  int column = 1;       ///< From 1, in characters (not bytes) of the line; a tab is one.
  std::string pointer;  ///< RFC 6901; empty: the whole file.
  std::string what;     ///< What is wrong.
  std::string hint;     ///< What would be right; may be empty.
  friend bool operator==(const Fault&, const Fault&) = default;
};

/// "stations.json:12:7: /stations/0/people/1/counts: what; hint".
std::string to_string(const Fault& fault);

/// What was read, or everything that is wrong with it. `value` is there exactly when there are no faults.
template <class T>
struct [[nodiscard]] Loaded {
  std::optional<T> value;
  std::vector<Fault> faults;
  explicit operator bool() const { return value.has_value(); }
};

/// A value in a JSON document, with its place.
struct Node {
  enum class Kind { null, boolean, whole, number, text, list, object };
  struct Key {
    std::string name;
    int line = 1;
    int column = 1;
  };

  Kind kind = Kind::null;
  bool flag = false;
  std::int64_t whole = 0;  ///< Of a whole number that fits.
  double number = 0;       ///< Of any number.
  std::string text;
  std::vector<Key> keys;    ///< Of an object, one for each of `items`.
  std::vector<Node> items;  ///< Of a list or an object, in the order written.

  std::string file;
  int line = 1;
  int column = 1;
  std::string pointer;

  [[nodiscard]] bool is_number() const { return kind == Kind::whole || kind == Kind::number; }
  /// The first member of that name, or nothing.
  [[nodiscard]] const Node* find(std::string_view name) const;
};

/// "a list", "a number" ...: for messages.
std::string_view kind_name(Node::Kind kind);

/// Reads RFC 8259 JSON: no comments, no trailing commas, UTF-8. Keys given twice and nesting deeper than 64 are faults.
Loaded<Node> read_document(const File& file);

/// One step of an RFC 6901 pointer: `~` and `/` escaped.
std::string pointer_token(std::string_view name);

}  // namespace nappe::kitchen
