#pragma once
// The demo night as a whole: guests, chef, expediter and cooks, what each does next. Pure: documents in, asks out; who
// carries them to the server stands in play.cpp.

#include <functional>
#include <map>
#include <set>
#include <string>
#include <vector>

#include "client/cooks.hpp"
#include "client/expediter.hpp"
#include "client/guests.hpp"

namespace nappe::client {

/// Something for the outside to carry out.
struct Deed {
  enum class Kind { ticket, command } kind = Kind::command;
  Instant at{};
  std::string by;
  Ask ask;              ///< A command; `item` is "station|key" for a cook's press.
  line::Order order;    ///< A ticket,
  std::string booking;  ///< of this booking;
  std::string key;      ///< its own key: the same for the same order sent again, another for another order.
};

class Night {
 public:
  Night(const kitchen::Kitchen& kitchen, const kitchen::BookingSheet& sheet, const kitchen::IncidentSheet& incidents,
        Instant midnight, std::uint64_t seed);

  /// What is done by `now`, given the screens as they stand (stations by id).
  std::vector<Deed> step(const PassScreen& pass, const std::map<std::string, StationScreen>& stations, Instant now);
  /// When somebody would next do something if nothing changes.
  [[nodiscard]] std::optional<Instant> next(const PassScreen& pass,
                                            const std::map<std::string, StationScreen>& stations, Instant now) const;

  /// Answers. A ticket's number, or the dish that could not be had.
  void ticket_sent(const std::string& booking, int ticket);
  void ticket_refused(const std::string& booking, const std::string& sentence, Instant now);
  void refused(const Deed& act, Instant now);

  /// Everybody has come and eaten.
  [[nodiscard]] bool over(const PassScreen& pass) const;
  [[nodiscard]] Instant first_booking() const { return first_; }
  [[nodiscard]] Instant half_full() const { return busy_from(parties_); }
  /// Lines to print since the last call.
  std::vector<std::string> take_lines();
  [[nodiscard]] std::string sum(const PassScreen& pass) const;

 private:
  struct Incident {
    kitchen::Incident what;
    Instant at{};
    bool done = false;
  };
  struct Seat {
    Party party;
    enum class At { coming, waiting, seated, ordered, lost } at = At::coming;
    line::Order order;
    int tries = 0;
    int ticket = 0;
    Instant orders{};
  };

  void say(Instant at, const std::string& line);
  void guests(const PassScreen& pass, Instant now, std::vector<Deed>& out);
  void late_allergies(Instant now, std::vector<Deed>& out);
  void happenings(const PassScreen& pass, Instant now, std::vector<Deed>& out);
  [[nodiscard]] int ticket_that_left(const std::string& table, const std::string& course) const;
  std::optional<Deed> act_on(const kitchen::Incident& incident, const PassScreen& pass, Instant now);
  void watch(const PassScreen& pass);
  [[nodiscard]] bool table_busy(const PassScreen& pass, const std::string& table, Instant now) const;
  [[nodiscard]] const CourseLine* course_of(const PassScreen& pass, const std::string& table,
                                            const std::string& course) const;

  const kitchen::Kitchen& kitchen_;
  Instant midnight_{};
  Instant first_{};
  std::vector<Party> parties_;
  std::vector<Seat> seats_;
  std::vector<Incident> incidents_;
  struct Told {
    std::string booking;
    int position = 0;
    std::vector<std::string> allergies;
    Instant at{};
    bool done = false;
  };
  std::vector<Told> told_;
  struct Back {
    std::string station, person;
    Instant at{};
  };
  std::vector<Back> away_;
  Draws draws_;
  Cooks cooks_;
  Expediter expediter_;
  std::map<std::string, Instant> gone_;      ///< Courses seen to have left.
  std::map<std::string, Instant> promised_;  ///< Their first promise.
  std::set<std::string> late_;
  std::map<std::string, Instant> cleared_;  ///< Table -> when its last course left.
  int plates_ = 0;
  int refusals_ = 0;
  Duration spread_sum_{};
  std::vector<std::string> lines_;
};

}  // namespace nappe::client
