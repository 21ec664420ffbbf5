#pragma once
// Who watches which screen. Keeps the board, and hands every change to the subscribers of its screen.

#include <map>
#include <set>
#include <string>

#include "server/board.hpp"

namespace nappe::server {

class Metrics;

/// Somebody who watches screens. push() queues and returns; it never calls back into the hub.
class Subscriber {
 public:
  virtual ~Subscriber() = default;
  virtual void push(Frame frame) = 0;
};

class Hub {
 public:
  Hub(Board& board, Metrics& metrics) : board_(board), metrics_(metrics) {}
  Hub(const Hub&) = delete;
  Hub& operator=(const Hub&) = delete;

  [[nodiscard]] const Board& board() const { return board_; }

  /// From now on the subscriber gets what goes to everybody; until leave().
  void join(Subscriber& subscriber) { everybody_.insert(&subscriber); }
  /// Pushes one frame to all who have joined.
  void tell_all(const Frame& frame);

  /// Pushes what the subscriber misses and every change from now on. Before the first opening of a service there is
  /// only the pass: a subscriber of a station waits for it to appear. `unknown` for a name that is no screen.
  Status subscribe(Subscriber& subscriber, const std::string& screen, const std::string& epoch, std::int64_t number);
  void unsubscribe(Subscriber& subscriber, const std::string& screen);
  /// Forgets the subscriber; must be called before it is destroyed.
  void leave(Subscriber& subscriber);

  /// Shows a screen's new document to all who watch it. Whether it changed.
  Result<bool> show(const std::string& screen, nlohmann::json document);
  /// Takes away the screens that are not among these.
  void keep_only(const std::vector<std::string>& screens);

 private:
  Board& board_;
  Metrics& metrics_;
  std::set<Subscriber*> everybody_;
  std::map<std::string, std::set<Subscriber*>> watching_;
};

}  // namespace nappe::server
