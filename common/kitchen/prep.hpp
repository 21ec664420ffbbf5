#pragma once
// What a house preps before a service: the mix it expects, the things it makes ahead with their yields, batches and
// steps, and what is in the fridge already.

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "common/kitchen/batches.hpp"
#include "common/kitchen/document.hpp"
#include "common/kitchen/kitchen.hpp"

namespace nappe::kitchen {

/// An ingredient of one portion. What has to be bought is grams / ((1 - trim) (1 - loss)).
struct Raw {
  std::string ingredient;
  double grams = 0;  ///< In one portion as it is served.
  double trim = 0;   ///< Share cut away, [0, 1).
  double loss = 0;   ///< Share of what is left lost in cooking, [0, 1).
  friend bool operator==(const Raw&, const Raw&) = default;
};

enum class PrepKind {
  move,    ///< Hands busy: fixed + per_kg * kg + each * portions.
  wait,    ///< The same without hands.
  chill,   ///< In trays in the blast chiller: how long follows from the depth.
  reduce,  ///< Boiled down: how long follows from the power under the pot.
  soak     ///< In a bath until the core has been at a temperature for a time: how long follows from the thickness.
};

/// What lies in the trays or in the bath: which of food's materials it is taken for.
enum class Stuff { puree, potato, meat };

/// kind chill. Temperatures in degrees Celsius, film in W/(m2 K).
struct PrepChill {
  double from_c = 0;
  double to_c = 0;
  double air_c = 0;
  double film = 0;
  Duration within{};    ///< Down there by then: the house's own rule or a stricter one.
  double tray_cm2 = 0;  ///< Inside a tray.
  Stuff stuff = Stuff::puree;
  friend bool operator==(const PrepChill&, const PrepChill&) = default;
};

/// kind reduce.
struct PrepReduce {
  double to_share = 0;  ///< What is left of the weight, (0, 1).
  double watts = 0;
  double efficiency = 0;
  double start_c = 0;
  friend bool operator==(const PrepReduce&, const PrepReduce&) = default;
};

/// kind soak.
struct PrepSoak {
  double thick_mm = 0;
  double start_c = 0;
  double bath_c = 0;
  double reach_c = 0;
  Duration hold{};
  double film = 0;
  Stuff stuff = Stuff::potato;
  friend bool operator==(const PrepSoak&, const PrepSoak&) = default;
};

struct PrepStep {
  PrepKind kind = PrepKind::move;
  std::string word;  ///< "peel and cut"
  Duration fixed{};
  Duration per_kg{};
  Duration each{};         ///< For each portion.
  Duration then_within{};  ///< How long the next step may wait after this one.
  std::vector<Use> uses;   ///< `each` counts kilograms begun.
  std::string trays_in;    ///< chill: the equipment whose places the trays take.
  std::optional<PrepChill> chill;
  std::optional<PrepReduce> reduce;
  std::optional<PrepSoak> soak;
  friend bool operator==(const PrepStep&, const PrepStep&) = default;
};

/// One thing made or laid ready for the service.
struct PrepItem {
  std::string id;
  std::string name;
  std::string batch;               ///< Of the batch sheet, may be empty: where it is kept, how and until when.
  std::string station;             ///< Whose hands make it.
  std::vector<std::string> feeds;  ///< Components it goes into ...
  std::vector<std::string> into;   ///< ... or items in front of it in the list: as many portions as they are made.
  double portion_g = 0;            ///< 0: counted in portions, not weighed.
  std::string only_for;            ///< An allergen: only guests who must not meet it have this.
  int spare = 0;                   ///< With only_for: so many more than are booked.
  std::optional<double> ratio;     ///< Instead of the sheet's.
  std::vector<Raw> raw;
  double step = 1;                      ///< It is made in whole ones of this: grams if weighed, else portions.
  double most = 0;                      ///< The largest batch, in the same; 0: no limit.
  int batches_max = 0;                  ///< So many batches a day at most; 0: no limit.
  std::optional<Duration> ready;        ///< By then, since midnight; else by the line check.
  std::optional<Duration> earliest;     ///< Not begun before (a delivery).
  std::optional<Duration> holds;        ///< It may be ready so long before it is wanted; else since the day begins.
  std::optional<Duration> first_birth;  ///< Short-lived batches: the first one is there by then.
  std::vector<PrepStep> steps;
  std::string kept_in;  ///< Of its own, else of its batch.
  std::optional<double> kept_c;
  std::optional<Duration> life;  ///< Of its batch: it dies so long after it was made.
  friend bool operator==(const PrepItem&, const PrepItem&) = default;
};

/// What the fridge holds of an item.
struct Stock {
  std::string item;
  int portions = 0;
  int use_by_days = 0;  ///< After the service's day; below 0: it is past its date.
  std::string where;
  std::string batch = {};  ///< Of the record, when it was asked; else empty.
  std::string until = {};  ///< Its use-by, in words; else empty.
  std::string unfit = {};  ///< Why it does not count: no label, still being cooled, not counted; empty: it does.
  friend bool operator==(const Stock&, const Stock&) = default;
};

/// A time without hands: staff supper.
struct PrepBreak {
  Duration from{};
  Duration to{};
  std::string word;
  friend bool operator==(const PrepBreak&, const PrepBreak&) = default;
};

struct PrepSheet {
  Duration begins{};
  Duration line_check{};
  bool open_needs_check = false;  ///< No service opens while an item of the line check is missing.
  double ratio = 0.85;            ///< cu / (cu + co), see mise/prep_quantity.hpp.
  double no_show = 0;             ///< The chance that a party does not come.
  double spread = 0.03;           ///< Correlation of two guests of one night.
  Duration orders_after{};        ///< From a party's time to its plates of the first course.
  Duration course_after{};        ///< From one course's plates to the next one's.
  Duration plates_sd{};           ///< Standard deviation of the plates' times about that.
  Duration slack{};               ///< Without a time of its own an item is wanted so long before the line check.
  /// Course -> dish -> share of the covers; a course may add up to less than 1 (some guests have none).
  std::map<std::string, std::map<std::string, double>> mix;
  std::vector<PrepBreak> breaks;
  std::vector<PrepItem> items;
  std::vector<Stock> stock;
  [[nodiscard]] const PrepItem* find(std::string_view id) const;
  friend bool operator==(const PrepSheet&, const PrepSheet&) = default;
};

/// Reads the sheet and holds it against the kitchen and its batches.
Loaded<PrepSheet> load_prep(const File& file, const Kitchen& kitchen, const BatchSheet& batches);

}  // namespace nappe::kitchen
