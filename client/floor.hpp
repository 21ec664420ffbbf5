#pragma once
// The floor's screen: one line of typing, the table as it sits, what each guest can have, when it could be. The line is
// read here, with the house's own card, so that every key is answered at once and also while the link is away; only the
// server sends, counts and promises.

#include <memory>
#include <optional>
#include <string>

#include "client/draw.hpp"
#include "client/model.hpp"
#include "common/kitchen/kitchen.hpp"
#include "common/line/order.hpp"

namespace nappe::client {

/// A table's open ticket, as the floor is told.
struct FloorTicket {
  int ticket = 0;
  std::string table;
  int covers = 0;
  bool open = false;            ///< Something of it has not gone.
  std::string next;             ///< Its first course that has not gone: the course's id.
  std::string state;            ///< Of that course.
  std::optional<Instant> says;  ///< The word for it; while it waits the word it would get.
  std::string pause;            ///< "speech", "up"; empty: neither.
};

struct FloorScreen {
  Service service;
  std::map<std::string, int> left;  ///< Dish -> portions nobody has been promised, of dishes that are counted.
  std::vector<FloorTicket> tickets;
  std::vector<std::string> wanted;  ///< Sentences: tables booked again that cannot be free by then.
};
FloorScreen read_floor(const nlohmann::json& document);

/// What the server said about sending a line (POST /draft).
struct FloorDraft {
  std::string line;
  std::string problem;  ///< Why it could not be sent; empty: it could.
  std::string course;
  std::optional<Instant> could;
  std::optional<Instant> word;
  std::vector<std::string> load;  ///< "garnish 20:15 rises 41 to 61 %", what it would fill first.
  bool full = false;              ///< A station would have more work than hands.
};
/// From the answer's status and body.
FloorDraft read_draft(const std::string& line, int status, const std::string& body, Duration utc_offset);

struct FloorModel {
  std::shared_ptr<const kitchen::Kitchen> kitchen;
  std::optional<FloorScreen> screen;
  Link link;
  Notice notice;
  std::string line;
  bool adding = false;  ///< Enter changes the table's open ticket instead of sending a new one.
  std::optional<FloorDraft> draft;
  int turned = 0;                   ///< Pages of what is said about the line, turned by the arrows.
  std::optional<Ask> refused = {};  ///< What the same line would say again, with "sure".
  Over over = Over::nothing;
  bool quit = false;
};

/// The line as far as it can be read.
struct FloorLine {
  std::optional<line::Order> order;  ///< Of the longest beginning that reads.
  std::string problem;               ///< Of the whole line; empty: it reads.
  bool whole = false;                ///< `order` is the whole line's.
};
FloorLine read_line(const FloorModel& model);

/// The table's open ticket that an order would be added to, the latest; null: none.
const FloorTicket* open_ticket(const FloorModel& model, const std::string& table);

std::vector<Ask> press(FloorModel& model, Key key, Times now);
void answered(FloorModel& model, const Ask& ask, const std::string& problem, bool may_insist, Times now);
void received(FloorModel& model, FloorScreen screen);
void passed(FloorModel& model, Times now);

Grid draw_floor(const FloorModel& model, Times now, Size size, const Look& look);

}  // namespace nappe::client
