#include "client/rehearse.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <atomic>
#include <charconv>
#include <exception>
#include <filesystem>
#include <fstream>
#include <limits>
#include <mutex>
#include <ostream>
#include <thread>

#include "client/house_files.hpp"
#include "common/rehearse/helped.hpp"
#include "common/rehearse/night.hpp"
#include "common/rehearse/report.hpp"
#include "common/rehearse/sentences.hpp"
#include "common/rehearse/summary.hpp"
#include "common/words.hpp"

namespace nappe::client {
namespace {

using rehearse::Manner;
using rehearse::NightResult;
using rehearse::Stage;
using rehearse::Variant;

constexpr int nights_max = 100000;

Status read_hands(const std::vector<std::string>& said, Variant& variant) {
  for (const std::string& one : said) {
    const auto equals = one.find('=');
    int pairs = 0;
    const char* end = one.data() + one.size();
    const auto read = std::from_chars(one.data() + std::min(one.size(), equals + 1), end, pairs);
    if (equals == std::string::npos || equals == 0 || read.ec != std::errc{} || read.ptr != end)
      return Error{Errc::invalid,
                   fmt::format("--hands \"{}\": write a station and its pairs of hands, such as garnish=2", one)};
    if (!variant.hands.emplace(one.substr(0, equals), pairs).second)
      return Error{Errc::invalid,
                   fmt::format("--hands names {} twice: say once how many pairs", one.substr(0, equals))};
  }
  return Done{};
}

Result<std::uint64_t> read_seed(const std::string& said) {
  std::uint64_t seed = 0;
  const char* end = said.data() + said.size();
  const auto read = std::from_chars(said.data(), end, seed);
  if (read.ec == std::errc{} && read.ptr == end) return seed;
  return Error{Errc::invalid, fmt::format("--seed {}: give a whole number from 0 to {}", said,
                                          std::numeric_limits<std::uint64_t>::max())};
}

std::string dish_id(const kitchen::Kitchen& kitchen, const std::string& said) {
  for (const kitchen::Dish& dish : kitchen.dishes)
    if (dish.id != said && dish.name == said) return dish.id;
  return said;
}

// What was asked, ready to play.
struct Plan {
  kitchen::Kitchen kitchen;
  kitchen::BookingSheet sheet;
  Variant variant;
  Manner manner;
  Stage stage;
  rehearse::Asked asked;
};

Status check_numbers(const RehearseOptions& options) {
  if (options.nights < 1 || options.nights > nights_max)
    return Error{Errc::invalid, fmt::format("--nights {}: give 1 to {}", options.nights, nights_max)};
  if (options.helped < 0) return Error{Errc::invalid, fmt::format("--helped {}: give 0 or more", options.helped)};
  if (options.tries < 0 || options.tries > 100000)
    return Error{Errc::invalid, fmt::format("--tries {}: give 0 to 100000", options.tries)};
  if (options.plays < 0 || options.plays > 10000)
    return Error{Errc::invalid, fmt::format("--plays {}: give 0 to 10000", options.plays)};
  if (options.threads < 0 || options.threads > 1024)
    return Error{Errc::invalid, fmt::format("--threads {}: give 0 to 1024", options.threads)};
  for (const auto& [name, value] : {std::pair{"--bias", options.bias}, std::pair{"--scatter", options.scatter}})
    if (!(value >= 0 && value <= 10) || (value == 0 && name == std::string_view("--bias")))
      return Error{Errc::invalid, fmt::format("{} {}: give a factor up to 10", name, value)};
  return Done{};
}

// An answer that cannot be written is better known before the nights are played. Leaves every file as it was.
Status check_written(const std::string& path) {
  if (path.empty()) return Done{};
  std::error_code unknown;
  const bool there = std::filesystem::exists(path, unknown);
  const bool opened = std::ofstream(path, std::ios::binary | std::ios::app).is_open();
  if (!there && opened) std::filesystem::remove(path, unknown);
  if (!opened) return Error{Errc::unavailable, path + " cannot be written: check the folder and its rights"};
  return Done{};
}

Status check_files(const RehearseOptions& options) {
  for (const std::string& path : {options.json, options.page})
    if (Status fine = check_written(path); !fine) return fine;
  if (options.json.empty() || options.page.empty()) return Done{};
  std::error_code unknown;
  const auto json = std::filesystem::weakly_canonical(options.json, unknown);
  if (json != std::filesystem::weakly_canonical(options.page, unknown)) return Done{};
  return Error{Errc::invalid, fmt::format("--json and --page both name {}: give each its own file", options.page)};
}

Result<Plan> prepare(const RehearseOptions& options) {
  if (Status fine = check_numbers(options); !fine) return fine.error();
  const auto seed = read_seed(options.seed);
  if (!seed) return seed.error();
  const auto rule = rehearse::rule_from(options.plan);
  if (!rule)
    return Error{Errc::invalid, fmt::format("--plan \"{}\": choose planner, alone, fixed or at_fire", options.plan)};
  if (Status fine = check_files(options); !fine) return fine.error();
  auto house = read_house_files(options.folder);
  if (!house) return house.error();
  auto sheet = read_booking_sheets(options.folder, options.bookings, house->kitchen);
  if (!sheet) return sheet.error();
  Plan plan{std::move(house->kitchen), std::move(sheet).value(), {}, {}, {}, {}};
  const int booked = rehearse::covers_of(plan.sheet);
  if (options.covers) {
    auto fitted = rehearse::fit_covers(plan.sheet, plan.kitchen, *options.covers);
    if (!fitted) return fitted.error();
    fitted->title = plan.sheet.title;
    plan.sheet = std::move(fitted).value();
  }
  for (const std::string& said : options.without) plan.variant.without.push_back(dish_id(plan.kitchen, said));
  if (Status fine = read_hands(options.hands, plan.variant); !fine) return fine.error();
  plan.variant.prompt = options.prompt;
  auto stage = rehearse::make_stage(plan.kitchen, plan.sheet, plan.variant);
  if (!stage) return stage.error();
  plan.stage = std::move(stage).value();
  plan.manner.rule = *rule;
  plan.manner.tries = options.tries;
  plan.manner.plays = options.plays;
  plan.manner.bias = options.bias;
  plan.manner.scatter = options.scatter;
  plan.manner.guests.as_booked = options.as_booked;
  plan.asked = {rehearse::title_of(plan.kitchen.name, plan.sheet.title, static_cast<int>(options.bookings.size()),
                                   booked, plan.stage.covers),
                *seed,
                options.plan,
                options.prompt.value_or(plan.kitchen.settings.prompt),
                options.bias,
                options.scatter,
                options.as_booked,
                rehearse::changes_in_words(plan.kitchen, plan.stage, plan.variant)};
  return plan;
}

// A bar of forty places on a terminal; nothing elsewhere.
class Progress {
 public:
  Progress(std::ostream& err, bool shown) : err_(err), shown_(shown) {}
  void expect(int nights) { all_ += nights; }
  void one_more() {
    ++done_;
    const int places = all_ > 0 ? done_ * 40 / all_ : 40;
    if (!shown_ || places == drawn_) return;
    drawn_ = places;
    err_ << fmt::format("\r[{:<40}] {} of {}", std::string(static_cast<std::size_t>(places), '#'), done_,
                        counted(all_, "night"))
         << std::flush;
  }
  void end() {
    if (shown_ && drawn_ >= 0) err_ << "\r" << std::string(70, ' ') << "\r" << std::flush;
  }

 private:
  std::ostream& err_;
  bool shown_;
  int all_ = 0;
  int done_ = 0;
  int drawn_ = -1;
};

Status write_file(const std::string& path, const std::string& text) {
  std::ofstream out(path, std::ios::binary | std::ios::trunc);
  out << text << std::flush;
  if (!out) return Error{Errc::unavailable, path + " cannot be written: check the folder and its rights"};
  return Done{};
}

struct Answer {
  rehearse::Summary summary;
  std::vector<rehearse::Change> changes;
  std::vector<rehearse::CurvePoint> curve;
};

// The same nights, fresh to prompt, and with each table planned alone.
Result<std::vector<rehearse::CurvePoint>> play_curve(const RehearseOptions& options, const Plan& plan,
                                                     Progress& progress) {
  constexpr std::array settings{0.0, 0.25, 0.5, 0.75, 1.0};
  progress.expect(options.nights * static_cast<int>(settings.size() + 1));
  std::vector<rehearse::CurvePoint> curve;
  const auto add = [&](Manner manner, rehearse::Rule rule, double prompt) -> Status {
    Variant variant = plan.variant;
    variant.prompt = prompt;
    manner.rule = rule;
    const auto stage = rehearse::make_stage(plan.kitchen, plan.sheet, variant);
    if (!stage) return stage.error();
    const auto nights =
        play_nights(*stage, manner, plan.asked.seed, options.nights, options.threads, [&] { progress.one_more(); });
    curve.push_back(
        rehearse::curve_point(rehearse::summarise(*stage, manner, nights), rule == rehearse::Rule::alone, prompt));
    return Done{};
  };
  for (const double prompt : settings)
    if (Status fine = add(plan.manner, rehearse::Rule::planner, prompt); !fine) return fine.error();
  if (Status fine = add(plan.manner, rehearse::Rule::alone, plan.asked.prompt); !fine) return fine.error();
  return curve;
}

Result<Answer> play(const RehearseOptions& options, const Plan& plan, Progress& progress) {
  const Stage& stage = plan.stage;
  const auto tick = [&] { progress.one_more(); };
  progress.expect(options.nights);
  const auto nights = play_nights(stage, plan.manner, plan.asked.seed, options.nights, options.threads, tick);
  Answer answer;
  answer.summary = rehearse::summarise(stage, plan.manner, nights);
  if (options.curve) {
    auto curve = play_curve(options, plan, progress);
    if (!curve) return curve.error();
    answer.curve = std::move(curve).value();
  }
  const rehearse::StationSummary* tight = answer.summary.tightest();
  const int helped = std::min(options.helped, options.nights);
  if (helped == 0 || tight == nullptr) return answer;
  const auto variants = rehearse::changes_worth_trying(stage, plan.variant, answer.summary);
  progress.expect(helped * static_cast<int>(variants.size()));
  for (const Variant& variant : variants) {
    const auto changed = rehearse::make_stage(plan.kitchen, plan.sheet, variant);
    if (!changed) return changed.error();
    const auto after = play_nights(*changed, plan.manner, plan.asked.seed, helped, options.threads, tick);
    const std::vector<NightResult> before(nights.begin(), nights.begin() + helped);
    answer.changes.push_back(rehearse::compare(variant.name, plan.manner, before, after,
                                               static_cast<std::size_t>(tight - answer.summary.stations.data())));
  }
  return answer;
}

int sentence(const Error& error, std::ostream& err) {
  err << error.detail << '\n';
  return 1;
}

}  // namespace

std::vector<NightResult> play_nights(const Stage& stage, const Manner& manner, std::uint64_t seed, int nights,
                                     int threads, const std::function<void()>& progress) {
  std::vector<NightResult> results(static_cast<std::size_t>(std::max(0, nights)));
  std::atomic<int> next{0};
  std::mutex mutex;
  std::exception_ptr failure;
  const auto work = [&] {
    try {
      for (int night = next++; night < nights; night = next++) {
        results[static_cast<std::size_t>(night)] = rehearse::play_night(stage, manner, seed, night);
        const std::lock_guard lock(mutex);
        if (progress) progress();
      }
    } catch (...) {
      const std::lock_guard lock(mutex);
      failure = std::current_exception();
      next = nights;
    }
  };
  const int cores = static_cast<int>(std::max(1U, std::thread::hardware_concurrency()));
  const int wanted = std::min(threads > 0 ? threads : cores, std::max(1, nights));
  {
    std::vector<std::jthread> helpers;
    for (int i = 1; i < wanted; ++i) helpers.emplace_back(work);
    work();
  }
  if (failure) std::rethrow_exception(failure);
  return results;
}

int rehearse_command(const RehearseOptions& options, std::ostream& out, std::ostream& err) {
  const auto plan = prepare(options);
  if (!plan) return sentence(plan.error(), err);
  const Stage& stage = plan->stage;
  Progress progress(err, !options.quiet);
  const auto answer = play(options, *plan, progress);
  progress.end();
  if (!answer) return sentence(answer.error(), err);
  auto sentences = rehearse::in_sentences(stage, answer->summary, answer->changes);
  for (const std::string& one : rehearse::curve_in_sentences(answer->curve)) sentences.push_back(one);
  out << plan->asked.title << '\n' << rehearse::asked_sentence(plan->asked) << '\n';
  for (const std::string& one : sentences) out << one << '\n';
  if (!options.json.empty()) {
    const auto text = rehearse::to_json(plan->asked, stage, answer->summary, answer->changes, sentences, answer->curve);
    if (Status written = write_file(options.json, text); !written) return sentence(written.error(), err);
  }
  if (!options.page.empty()) {
    const auto text = rehearse::to_page(plan->asked, stage, answer->summary, answer->changes, answer->curve);
    if (Status written = write_file(options.page, text); !written) return sentence(written.error(), err);
  }
  return 0;
}

}  // namespace nappe::client
