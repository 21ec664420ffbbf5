#include "server/board.hpp"

#include <fmt/format.h>

#include <deque>
#include <nlohmann/json.hpp>

#include "common/wire/merge_patch.hpp"
#include "common/wire/parse.hpp"

namespace nappe::server {

struct Board::Screen {
  nlohmann::json document;
  std::int64_t number = 1;
  std::deque<Frame> patches;  ///< The last one leads to `number`, the one before it to `number - 1`, ...
  mutable Frame whole;        ///< The document as a frame, made when first asked for and good until the next number.
};

Board::Board(std::string epoch, std::size_t patches_max) : epoch_(std::move(epoch)), patches_max_(patches_max) {}
Board::~Board() = default;

std::vector<std::string> Board::names() const {
  std::vector<std::string> names;
  names.reserve(screens_.size());
  for (const auto& [name, screen] : screens_) names.push_back(name);
  return names;
}

Result<Frame> Board::show(const std::string& name, nlohmann::json fresh) {
  if (!fresh.is_object()) return Error{Errc::invalid, "the document of screen " + name + " is not a JSON object"};
  const auto found = screens_.find(name);
  if (found == screens_.end()) {
    auto screen = std::make_unique<Screen>();
    screen->document = std::move(fresh);
    Frame whole = document_frame(name, *screen);
    screens_.emplace(name, std::move(screen));
    return whole;
  }
  Screen& screen = *found->second;
  const auto patch = wire::merge_patch_diff(screen.document, fresh);
  if (patch.empty()) return Frame();
  screen.document = std::move(fresh);
  screen.number += 1;
  screen.whole.reset();
  auto frame =
      std::make_shared<const std::string>(fmt::format(R"({{"type":"patch","screen":{},"number":{},"patch":{}}})",
                                                      wire::write_json(name), screen.number, wire::write_json(patch)));
  screen.patches.push_back(frame);
  if (screen.patches.size() > patches_max_) screen.patches.pop_front();
  return Frame(frame);
}

void Board::remove(const std::string& screen) { screens_.erase(screen); }

std::vector<Frame> Board::catch_up(const std::string& name, const std::string& epoch, std::int64_t number) const {
  const Screen& screen = *screens_.at(name);
  const auto kept = static_cast<std::int64_t>(screen.patches.size());
  if (epoch != epoch_ || number > screen.number || number < screen.number - kept) {
    return {document_frame(name, screen)};
  }
  return {screen.patches.end() - (screen.number - number), screen.patches.end()};
}

const nlohmann::json& Board::document(const std::string& screen) const { return screens_.at(screen)->document; }
std::int64_t Board::number(const std::string& screen) const { return screens_.at(screen)->number; }

Frame Board::document_frame(const std::string& name, const Screen& screen) const {
  if (!screen.whole) {
    screen.whole = std::make_shared<const std::string>(
        fmt::format(R"({{"type":"document","screen":{},"epoch":"{}","number":{},"document":{}}})",
                    wire::write_json(name), epoch_, screen.number, wire::write_json(screen.document)));
  }
  return screen.whole;
}

}  // namespace nappe::server
