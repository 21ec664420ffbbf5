#include "common/kitchen/document.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <limits>
#include <nlohmann/json.hpp>
#include <utility>

namespace nappe::kitchen {
namespace {

constexpr std::size_t depth_max = 64;

struct Place {
  int line = 1;
  int column = 1;
};

// Walks through a text character by character and knows the line and column of each byte.
class Cursor {
 public:
  explicit Cursor(std::string_view text) : text_(text) {
    if (text_.substr(0, 3) == "\xEF\xBB\xBF") at_ = 3;  // a byte order mark is no column
  }
  [[nodiscard]] bool done() const { return at_ >= text_.size(); }
  [[nodiscard]] char now() const { return text_[at_]; }
  [[nodiscard]] std::size_t offset() const { return at_; }
  [[nodiscard]] Place place() const { return place_; }
  void next() {
    if (done()) return;
    if (text_[at_] == '\n') {
      ++place_.line;
      place_.column = 1;
    } else if (at_ + 1 >= text_.size() || (static_cast<unsigned char>(text_[at_ + 1]) & 0xC0U) != 0x80U) {
      ++place_.column;  // the byte behind this one begins a new character
    }
    ++at_;
  }

 private:
  std::string_view text_;
  std::size_t at_ = 0;
  Place place_;
};

Place place_of(std::string_view text, std::size_t offset) {
  Cursor cursor(text);
  while (!cursor.done() && cursor.offset() < offset) cursor.next();
  return cursor.place();
}

bool is_blank(char c) { return c == ' ' || c == '\t' || c == '\n' || c == '\r'; }
bool is_mark(char c) { return c == '}' || c == ']' || c == ',' || c == ':'; }

// Where every key and every value begins, in the order of the text. Says nothing about whether the text is JSON: the
// parser does that, and its events come in the same order.
std::vector<Place> token_places(std::string_view text) {
  std::vector<Place> places;
  Cursor cursor(text);
  while (!cursor.done()) {
    const char c = cursor.now();
    if (is_blank(c) || is_mark(c)) {
      cursor.next();
      continue;
    }
    places.push_back(cursor.place());
    cursor.next();
    if (c == '{' || c == '[') continue;
    if (c == '"') {
      while (!cursor.done() && cursor.now() != '"') {
        if (cursor.now() == '\\') cursor.next();
        cursor.next();
      }
      cursor.next();
      continue;
    }
    while (!cursor.done() && !is_blank(cursor.now()) && !is_mark(cursor.now())) cursor.next();
  }
  return places;
}

// Builds the tree from the parser's events.
class Builder : public nlohmann::json_sax<nlohmann::json> {
 public:
  Builder(const File& file, std::vector<Fault>& faults)
      : file_(file), faults_(faults), places_(token_places(file.text)) {}

  bool null() override { return add(make(Node::Kind::null)); }
  bool boolean(bool value) override {
    Node node = make(Node::Kind::boolean);
    node.flag = value;
    return add(std::move(node));
  }
  bool number_integer(number_integer_t value) override {
    Node node = make(Node::Kind::whole);
    node.whole = value;
    node.number = static_cast<double>(value);
    return add(std::move(node));
  }
  bool number_unsigned(number_unsigned_t value) override {
    if (value > static_cast<std::uint64_t>(std::numeric_limits<std::int64_t>::max())) {
      return number_float(static_cast<double>(value), {});
    }
    return number_integer(static_cast<std::int64_t>(value));
  }
  bool number_float(number_float_t value, const string_t& /*text*/) override {
    Node node = make(Node::Kind::number);
    node.number = value;
    return add(std::move(node));
  }
  bool string(string_t& value) override {
    Node node = make(Node::Kind::text);
    node.text = std::move(value);
    return add(std::move(node));
  }
  bool binary(binary_t& /*value*/) override { return false; }
  bool start_object(std::size_t /*size*/) override { return open(Node::Kind::object); }
  bool start_array(std::size_t /*size*/) override { return open(Node::Kind::list); }
  bool end_object() override { return close(); }
  bool end_array() override { return close(); }

  bool key(string_t& name) override {
    const Place at = take_place();
    Node& object = open_.back();
    for (const Node::Key& known : object.keys) {
      if (known.name != name) continue;
      faults_.push_back({file_.path, at.line, at.column, pointer_here() + "/" + pointer_token(name),
                         fmt::format("the key \"{}\" is given twice", name),
                         fmt::format("keep one of them; the first is on line {}", known.line)});
      break;
    }
    object.keys.push_back({name, at.line, at.column});
    return true;
  }

  bool parse_error(std::size_t position, const std::string& /*last*/, const nlohmann::json::exception& ex) override {
    const std::size_t offset = std::min(position == 0 ? 0 : position - 1, file_.text.size());
    const Place at = place_of(file_.text, offset);
    faults_.push_back({file_.path, at.line, at.column, "", "this is not JSON: " + reason(ex.what()), hint_at(offset)});
    return false;
  }

  Node root;

 private:
  // The parser's sentence without its prefix and without the text it quotes (which may not be UTF-8).
  static std::string reason(std::string_view words) {
    if (words.find("out_of_range") != std::string_view::npos) return "a number is too large";
    std::string out = "unreadable";
    const auto dash = words.find(" - ");
    if (dash != std::string_view::npos) {
      const std::string_view tail = words.substr(dash + 3);
      out = std::string(tail.substr(0, tail.find("; last read")));
    }
    const auto expected = words.rfind("; expected ");
    if (expected != std::string_view::npos && out.find("; expected ") == std::string::npos) {
      out += std::string(words.substr(expected));
    }
    return out;
  }

  [[nodiscard]] std::string hint_at(std::size_t offset) const {
    if (offset >= file_.text.size()) return "the text ends too early; is a bracket or a quote not closed?";
    const char c = file_.text[offset];
    if (c == '/' || (offset > 0 && file_.text[offset - 1] == '/')) {
      return "comments are not allowed; use a \"description\" key";
    }
    if (c == '}' || c == ']') return "is there a comma too many before it?";
    if (c == '"') return "is a comma or a colon missing before it?";
    if (c == '\'') return "strings stand in double quotes";
    return "correct the text here; everything before it was readable";
  }

  Place take_place() { return next_ < places_.size() ? places_[next_++] : Place{}; }

  Node make(Node::Kind kind) {
    const Place at = take_place();
    Node node;
    node.kind = kind;
    node.file = file_.path;
    node.line = at.line;
    node.column = at.column;
    if (!open_.empty()) node.pointer = pointer_here() + "/" + child_token();
    return node;
  }

  [[nodiscard]] std::string pointer_here() const { return open_.back().pointer; }
  [[nodiscard]] std::string child_token() const {
    const Node& parent = open_.back();
    if (parent.kind == Node::Kind::list) return std::to_string(parent.items.size());
    return pointer_token(parent.keys.back().name);
  }

  bool open(Node::Kind kind) {
    Node node = make(kind);
    if (open_.size() >= depth_max) {
      faults_.push_back({file_.path, node.line, node.column, node.pointer,
                         fmt::format("brackets are nested deeper than {}", depth_max),
                         "no kitchen file needs that; is a bracket not closed?"});
      return false;
    }
    open_.push_back(std::move(node));
    return true;
  }

  bool close() {
    Node node = std::move(open_.back());
    open_.pop_back();
    return add(std::move(node));
  }

  bool add(Node node) {
    if (open_.empty()) {
      root = std::move(node);
    } else {
      open_.back().items.push_back(std::move(node));
    }
    return true;
  }

  const File& file_;
  std::vector<Fault>& faults_;
  std::vector<Place> places_;
  std::size_t next_ = 0;
  std::vector<Node> open_;
};

}  // namespace

std::string to_string(const Fault& fault) {
  std::string out = fault.file.empty() ? "" : fmt::format("{}:{}:{}: ", fault.file, fault.line, fault.column);
  if (!fault.pointer.empty()) out += fault.pointer + ": ";
  out += fault.what;
  if (!fault.hint.empty()) out += "; " + fault.hint;
  return out;
}

const Node* Node::find(std::string_view name) const {
  for (std::size_t i = 0; i < keys.size(); ++i) {
    if (keys[i].name == name) return &items[i];
  }
  return nullptr;
}

std::string_view kind_name(Node::Kind kind) {
  switch (kind) {
    case Node::Kind::null:
      return "null";
    case Node::Kind::boolean:
      return "true or false";
    case Node::Kind::whole:
      return "a whole number";
    case Node::Kind::number:
      return "a number";
    case Node::Kind::text:
      return "a text";
    case Node::Kind::list:
      return "a list";
    case Node::Kind::object:
      return "an object";
  }
  return "";
}

Loaded<Node> read_document(const File& file) {
  Loaded<Node> out;
  Builder builder(file, out.faults);
  const bool read = nlohmann::json::sax_parse(file.text, &builder);
  if (!read && out.faults.empty()) out.faults.push_back({file.path, 1, 1, "", "this is not JSON", ""});
  if (out.faults.empty()) out.value = std::move(builder.root);
  return out;
}

std::string pointer_token(std::string_view name) {
  std::string out;
  for (const char c : name) {
    if (c == '~') {
      out += "~0";
    } else if (c == '/') {
      out += "~1";
    } else {
      out += c;
    }
  }
  return out;
}

}  // namespace nappe::kitchen
