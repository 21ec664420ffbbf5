#pragma once
// Presses on their way: kept in order until the line has answered each, so that none is lost and none is done twice
// (the line remembers the id of every command).

#include <cstddef>
#include <deque>
#include <optional>
#include <string>
#include <vector>

#include "client/model.hpp"
#include "common/result.hpp"

namespace nappe::client {

/// A press with all a command needs.
struct Kept {
  std::string id;  ///< Unique, made by the client.
  std::string by;
  std::int64_t at_ms = 0;  ///< Kitchen time of the press.
  Ask ask;
  bool sent = false;  ///< It may have reached the server.
};

/// {"id":...,"by":...,"at_ms":...,"do":{...}}
std::string command_text(const Kept& kept);

class Outbox {
 public:
  static constexpr std::size_t kept_max = 500;

  /// Adds a press; refuses beyond `kept_max` (a night's presses without a server are fewer).
  Status add(Kept kept);
  /// Takes back the last press about this item if it cannot have reached the server; true if it did.
  bool drop_unsent(const std::string& item);
  /// All to be sent, oldest first; they count as sent from here on. After a new link: everything not answered.
  std::vector<std::string> to_send(bool everything);
  /// The line answered this id: forget it. Nothing if it is not kept.
  std::optional<Kept> answered(const std::string& id);

  [[nodiscard]] const std::deque<Kept>& kept() const { return kept_; }

  /// As a file's text, one JSON object per line, and back. Lines that cannot be read are left out and counted.
  [[nodiscard]] std::string save() const;
  static Outbox load(const std::string& text, std::size_t* unreadable = nullptr);

 private:
  std::deque<Kept> kept_;
};

}  // namespace nappe::client
