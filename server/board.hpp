#pragma once
// The screens as last shown: each one's document, its number, and the last patches, so that a subscriber that comes
// back gets only what it missed.

#include <cstdint>
#include <map>
#include <memory>
#include <nlohmann/json_fwd.hpp>
#include <string>
#include <vector>

#include "common/result.hpp"

namespace nappe::server {

/// One text frame, serialised once and shared by every outbox it waits in.
using Frame = std::shared_ptr<const std::string>;

class Board {
 public:
  /// `epoch` names this run of the server: numbers of another run mean nothing here. `patches_max`: patches kept per
  /// screen.
  Board(std::string epoch, std::size_t patches_max);
  ~Board();

  [[nodiscard]] const std::string& epoch() const { return epoch_; }
  [[nodiscard]] bool has(const std::string& screen) const { return screens_.contains(screen); }
  [[nodiscard]] std::vector<std::string> names() const;

  /// Takes the screen's new document. Answers the frame that everyone who has the document before must get: a patch, or
  /// the whole document when it is the screen's first; null when nothing changed. `invalid` if it is no JSON object.
  Result<Frame> show(const std::string& screen, nlohmann::json document);

  /// The screen is no more (a kitchen without that station).
  void remove(const std::string& screen);

  /// What a subscriber that last saw `number` of `epoch` must get to have the present document: nothing, some patches,
  /// or one document. Anyone without a document passes an empty epoch. The screen must be there.
  [[nodiscard]] std::vector<Frame> catch_up(const std::string& screen, const std::string& epoch,
                                            std::int64_t number) const;

  /// The document and its number; the screen must be there.
  [[nodiscard]] const nlohmann::json& document(const std::string& screen) const;
  [[nodiscard]] std::int64_t number(const std::string& screen) const;

 private:
  struct Screen;
  [[nodiscard]] Frame document_frame(const std::string& name, const Screen& screen) const;

  std::string epoch_;
  std::size_t patches_max_;
  std::map<std::string, std::unique_ptr<Screen>> screens_;
};

}  // namespace nappe::server
