#pragma once
// Reads typed values out of a Node tree and collects every fault on the way. Nothing is guessed: a value that is wrong
// is reported and replaced by a harmless one, so that the rest can still be read and its faults found too.

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "common/kitchen/document.hpp"
#include "common/time.hpp"

namespace nappe::kitchen {

/// Where faults are collected.
class Faults {
 public:
  void add(const Node& at, std::string what, std::string hint = {});
  /// At the place of an object's key rather than of its value.
  void add_key(const Node& object, std::size_t index, std::string what, std::string hint = {});
  [[nodiscard]] bool none() const { return all_.empty(); }
  [[nodiscard]] std::vector<Fault>& all() { return all_; }

 private:
  std::vector<Fault> all_;
};

/// A range of numbers, both ends allowed unless said otherwise.
struct Range {
  double low = 0;
  double high = 1e12;
  bool above_low = false;  ///< The low end itself is not allowed.
};

/// One object's members. Ask for every key there may be, then call finish(): what nobody asked for is unknown.
class Fields {
 public:
  /// `thing` as in "a step": for messages.
  Fields(const Node& node, std::string_view thing, Faults& faults);

  /// False when the node is not an object; a fault was added and every reading below answers its default.
  [[nodiscard]] bool is_object() const { return object_; }
  [[nodiscard]] bool has(std::string_view key) const { return node_.find(key) != nullptr; }
  [[nodiscard]] const Node& node() const { return node_; }
  /// The node of this key, or the object's own: where a fault about that key belongs.
  [[nodiscard]] const Node& place(std::string_view key) const;

  /// A text of at least one character.
  std::string need_text(std::string_view key);
  std::string text(std::string_view key, std::string_view otherwise = {});
  /// An id: lower-case letters, digits, `_` and `-`, at most 40.
  std::string need_id(std::string_view key);

  double need_number(std::string_view key, Range range);
  std::optional<double> number(std::string_view key, Range range);
  std::int64_t need_whole(std::string_view key, Range range);
  std::optional<std::int64_t> whole(std::string_view key, Range range);
  bool flag(std::string_view key, bool otherwise);

  /// A length of time written in seconds (`unit_ms` 1000) or minutes (60000).
  std::optional<Duration> span(std::string_view key, Range range, double unit_ms = 1000);
  Duration need_span(std::string_view key, Range range, double unit_ms = 1000);
  /// A time of day, "18:30" or "20:02:50": since midnight; hours up to 29 reach into the night after.
  std::optional<Duration> clock(std::string_view key);
  Duration need_clock(std::string_view key);

  /// The items of a list; empty when absent or wrong.
  const std::vector<Node>& list(std::string_view key);
  const std::vector<Node>& need_list(std::string_view key);
  /// A list of texts, each once.
  std::vector<std::string> texts(std::string_view key);
  /// An object, or nothing when absent or wrong.
  const Node* object(std::string_view key);
  const Node* need_object(std::string_view key);

  /// A word of this list; the first one when it is wrong.
  std::size_t choice(std::string_view key, const std::vector<std::string>& words, std::optional<std::size_t> otherwise);

  /// Marks a key as known without reading it.
  void skip(std::string_view key) { asked_.emplace_back(key); }
  /// Reports every key nobody asked for.
  void finish();

 private:
  const Node* take(std::string_view key, bool needed, std::string_view wanted);
  const Node* take_kind(std::string_view key, Node::Kind kind, bool needed);
  std::optional<double> take_number(std::string_view key, Range range, bool needed, bool whole_only);
  std::optional<Duration> take_span(std::string_view key, Range range, double unit_ms, bool needed);
  std::optional<Duration> take_clock(std::string_view key, bool needed);

  const Node& node_;
  std::string thing_;
  Faults& faults_;
  bool object_;
  std::vector<std::string> asked_;
};

/// Adds a fault for every id that was there before; `places` are in step with `ids`.
void refuse_duplicates(const std::vector<std::string>& ids, const std::vector<const Node*>& places,
                       std::string_view what, Faults& faults);

/// Adds "there is no THING "x"" with the nearest known one unless `id` is among `known`; whether it is.
bool refuse_unknown(const std::string& id, const std::vector<std::string>& known, std::string_view thing,
                    const Node& at, Faults& faults);

/// The name of an allergen as allergen.hpp writes it; a fault and an empty text when it is none.
std::string read_allergen(const Node& at, Faults& faults);
std::vector<std::string> read_allergens(Fields& fields, std::string_view key, Faults& faults);

/// The kind of file its "$schema" names: "house" for "../schema/house.schema.json"; empty with a fault if it has none.
std::string document_kind(const Node& root, Faults& faults);

/// Adds "this file holds KIND, not WANTED".
void refuse_kind(const Node& root, std::string_view kind, std::string_view wanted, Faults& faults);

/// Every kind of kitchen file there is.
const std::vector<std::string>& document_kinds();

/// Loads a file that must be of this kind: `read(root, sheet, faults)` fills the sheet. No sheet when there is any
/// fault.
template <class Sheet, class Read>
Loaded<Sheet> load_sheet(const File& file, std::string_view wanted, Read read) {
  Loaded<Sheet> out;
  const Loaded<Node> root = read_document(file);
  if (!root) {
    out.faults = root.faults;
    return out;
  }
  Faults faults;
  Sheet sheet;
  const std::string kind = document_kind(*root.value, faults);
  if (kind == wanted)
    read(*root.value, sheet, faults);
  else if (!kind.empty())
    refuse_kind(*root.value, kind, wanted, faults);
  out.faults = std::move(faults.all());
  if (out.faults.empty()) out.value = std::move(sheet);
  return out;
}

}  // namespace nappe::kitchen
