#pragma once
// The whole prep list of a service, and what changes in it when the bookings change.

#include <optional>
#include <string>
#include <vector>

#include "common/kitchen/bookings.hpp"
#include "common/kitchen/prep.hpp"
#include "common/mise/prep_need.hpp"
#include "common/mise/prep_work.hpp"

namespace nappe::mise {

/// One line of the line check: what has to stand where, counted, tasted, probed.
struct CheckLine {
  std::string item;
  std::string name;
  std::string station;
  int portions = 0;
  double grams = 0;  ///< 0: counted only.
  std::string kept_in;
  std::optional<double> kept_c;
  std::string note;  ///< "first batch, from 17:50"
  friend bool operator==(const CheckLine&, const CheckLine&) = default;
};

struct PrepList {
  std::string house;
  std::string title;  ///< Of the bookings.
  int covers = 0;
  int parties = 0;
  double ratio = 0;
  bool as_booked = false;
  Duration line_check{};
  std::vector<Need> needs;
  std::vector<RawNeed> raw;  ///< All ingredients added up, by name.
  WorkPlan work;
  std::vector<CheckLine> check;  ///< By station as the pass reads them.
};

/// Works the list out. With `before`, the list of the same house for other bookings, work that is in both stays put.
PrepList make_list(const kitchen::Kitchen& kitchen, const kitchen::PrepSheet& sheet,
                   const kitchen::BookingSheet& bookings, const PrepTerms& terms, const PrepList* before = nullptr);

/// What differs, one line each: "+4 pollack, portioned: 27 instead of 23 (+1.1 kg pollack)". Empty when nothing does.
std::vector<std::string> changes(const PrepList& before, const PrepList& after);

/// One thing that can be crossed out.
struct Line {
  std::string id;    ///< "swede_puree/1/2", "check/loin", "throw/mackerel_cured": the same from run to run.
  std::string when;  ///< "09:30" or empty.
  std::string station;
  std::string text;
  std::string small;  ///< Beside it: how deep, how long, with what; may be empty.
  friend bool operator==(const Line&, const Line&) = default;
};

/// A part of the list under one heading.
struct Part {
  std::string heading;
  std::vector<Line> lines;
};

/// To throw, the order of work, the line check: everything hands do, in the order of the day.
std::vector<Part> parts_of(const PrepList& list);

/// How much of everything, in words, one line each: "swede puree: 25 wanted, 0 there, make 3.5 kg ...".
std::vector<Line> amounts_of(const PrepList& list);

/// What has to be in the chiller from when to when, with how many trays are taken while it is there; by begin.
std::vector<Line> chiller_of(const PrepList& list);

/// What did not fit where it would have stood alone, what is late, what the kit cannot take; in sentences.
std::vector<std::string> remarks_of(const PrepList& list);

/// Printed on the list and the page.
std::string prep_caution();

/// The page: HTML for printing, nothing to fetch, nothing to run. Lines whose id is in `crossed` are struck through.
std::string prep_page(const PrepList& list, const std::vector<std::string>& crossed);

/// All figures of the list as JSON; times as "HH:MM" since midnight, weights in grams.
std::string prep_json(const PrepList& list);

}  // namespace nappe::mise
