#include "client/rehearse.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <atomic>
#include <charconv>
#include <exception>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <mutex>
#include <ostream>
#include <thread>

#include "client/check.hpp"
#include "common/kitchen/load.hpp"
#include "common/rehearse/helped.hpp"
#include "common/rehearse/night.hpp"
#include "common/rehearse/report.hpp"
#include "common/rehearse/summary.hpp"

namespace nappe::client {
namespace {

namespace fs = std::filesystem;
using rehearse::Manner;
using rehearse::NightResult;
using rehearse::Stage;
using rehearse::Variant;

constexpr int nights_max = 100000;

Error in_words(const std::vector<kitchen::Fault>& faults) {
  std::string text;
  for (const kitchen::Fault& fault : faults) text += (text.empty() ? "" : "\n") + kitchen::to_string(fault);
  return Error{Errc::invalid, text};
}

Result<kitchen::File> read_file(const fs::path& path) {
  std::ifstream in(path, std::ios::binary);
  std::string text{std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
  if (!in.good() && !in.eof()) return Error{Errc::unknown, path.generic_string() + " cannot be read: check its name"};
  return kitchen::File{path.generic_string(), std::move(text)};
}

// A rehearsal judges no food: whichever rule set the house names will do (`nappe check` holds it against those there
// are).
std::vector<std::string> rule_sets_named(const std::vector<kitchen::File>& files) {
  std::vector<std::string> named;
  for (const kitchen::File& file : files) {
    const auto root = kitchen::read_document(file);
    const kitchen::Node* rules = root ? root.value->find("rules") : nullptr;
    if (rules != nullptr && rules->kind == kitchen::Node::Kind::text) named.push_back(rules->text);
  }
  return named;
}

Result<kitchen::Kitchen> read_kitchen(const std::string& folder) {
  std::vector<kitchen::Fault> faults;
  const auto files = read_json_files(folder, faults);
  if (!faults.empty()) return in_words(faults);
  if (files.empty())
    return Error{Errc::unknown, folder + " holds no kitchen file: name the folder that holds house.json"};
  auto loaded = kitchen::load_kitchen(files, rule_sets_named(files));
  if (!loaded) return in_words(loaded.faults);
  return std::move(*loaded.value);
}

Result<kitchen::BookingSheet> read_sheets(const RehearseOptions& options, const kitchen::Kitchen& kitchen) {
  std::vector<std::string> paths = options.bookings;
  if (paths.empty()) paths.push_back((fs::path(options.folder) / "bookings.json").string());
  kitchen::BookingSheet all;
  for (const std::string& path : paths) {
    const auto file = read_file(path);
    if (!file) return file.error();
    auto sheet = kitchen::load_bookings(*file, kitchen);
    if (!sheet) return in_words(sheet.faults);
    all.title += (all.title.empty() ? "" : " + ") + sheet.value->title;
    for (kitchen::Booking& booking : sheet.value->bookings) {
      const bool twice = std::any_of(all.bookings.begin(), all.bookings.end(),
                                     [&](const kitchen::Booking& one) { return one.id == booking.id; });
      if (twice)
        return Error{Errc::invalid, fmt::format("{}: booking \"{}\" stands on another sheet too", path, booking.id)};
      all.bookings.push_back(std::move(booking));
    }
  }
  std::stable_sort(all.bookings.begin(), all.bookings.end(),
                   [](const kitchen::Booking& a, const kitchen::Booking& b) { return a.at < b.at; });
  return all;
}

Status read_hands(const std::vector<std::string>& said, Variant& variant) {
  for (const std::string& one : said) {
    const auto equals = one.find('=');
    int pairs = 0;
    const char* end = one.data() + one.size();
    const auto read = std::from_chars(one.data() + std::min(one.size(), equals + 1), end, pairs);
    if (equals == std::string::npos || equals == 0 || read.ec != std::errc{} || read.ptr != end)
      return Error{Errc::invalid,
                   fmt::format("--hands \"{}\": write a station and its pairs of hands, such as garnish=2", one)};
    variant.hands[one.substr(0, equals)] = pairs;
  }
  return Done{};
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
  rehearse::Asked asked;
};

Status check_numbers(const RehearseOptions& options) {
  if (options.nights < 1 || options.nights > nights_max)
    return Error{Errc::invalid, fmt::format("--nights {}: give 1 to {}", options.nights, nights_max)};
  if (options.helped < 0) return Error{Errc::invalid, fmt::format("--helped {}: give 0 or more", options.helped)};
  if (options.tries < 0 || options.tries > 100000)
    return Error{Errc::invalid, fmt::format("--tries {}: give 0 to 100000", options.tries)};
  if (options.threads < 0 || options.threads > 1024)
    return Error{Errc::invalid, fmt::format("--threads {}: give 0 to 1024", options.threads)};
  for (const auto& [name, value] : {std::pair{"--bias", options.bias}, std::pair{"--scatter", options.scatter}})
    if (!(value >= 0 && value <= 10) || (value == 0 && name == std::string_view("--bias")))
      return Error{Errc::invalid, fmt::format("{} {}: give a factor up to 10", name, value)};
  return Done{};
}

Result<Plan> prepare(const RehearseOptions& options) {
  if (Status fine = check_numbers(options); !fine) return fine.error();
  const auto rule = rehearse::rule_from(options.plan);
  if (!rule)
    return Error{Errc::invalid, fmt::format("--plan \"{}\": choose planner, alone, fixed or at_fire", options.plan)};
  auto kitchen = read_kitchen(options.folder);
  if (!kitchen) return kitchen.error();
  auto sheet = read_sheets(options, *kitchen);
  if (!sheet) return sheet.error();
  Plan plan{std::move(kitchen).value(), std::move(sheet).value(), {}, {}, {}};
  const std::string title = plan.sheet.title;
  if (options.covers != 0) {
    auto fitted = rehearse::fit_covers(plan.sheet, plan.kitchen, options.covers);
    if (!fitted) return fitted.error();
    plan.sheet = std::move(fitted).value();
  }
  for (const std::string& said : options.without) plan.variant.without.push_back(dish_id(plan.kitchen, said));
  if (Status fine = read_hands(options.hands, plan.variant); !fine) return fine.error();
  plan.variant.prompt = options.prompt;
  plan.manner.rule = *rule;
  plan.manner.tries = options.tries;
  plan.manner.bias = options.bias;
  plan.manner.scatter = options.scatter;
  plan.manner.guests.as_booked = options.as_booked;
  plan.asked = {plan.kitchen.name + ", " + title,
                options.seed,
                options.plan,
                options.prompt.value_or(plan.kitchen.settings.prompt),
                options.bias,
                options.scatter,
                {}};
  for (const std::string& dish : plan.variant.without) plan.asked.changed.push_back("without " + dish);
  for (const auto& [station, pairs] : plan.variant.hands)
    plan.asked.changed.push_back(fmt::format("{}: {} pairs of hands", station, pairs));
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
    err_ << fmt::format("\r[{:<40}] {} of {} nights", std::string(static_cast<std::size_t>(places), '#'), done_, all_)
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
};

Result<Answer> play(const RehearseOptions& options, const Plan& plan, const Stage& stage, Progress& progress) {
  const auto tick = [&] { progress.one_more(); };
  progress.expect(options.nights);
  const auto nights = play_nights(stage, plan.manner, options.seed, options.nights, options.threads, tick);
  Answer answer;
  answer.summary = rehearse::summarise(stage, plan.manner, nights);
  const rehearse::StationSummary* tight = answer.summary.tightest();
  const int helped = std::min(options.helped, options.nights);
  if (helped == 0 || tight == nullptr) return answer;
  const auto variants = rehearse::changes_worth_trying(stage, plan.variant, answer.summary);
  progress.expect(helped * static_cast<int>(variants.size()));
  for (const Variant& variant : variants) {
    const auto changed = rehearse::make_stage(plan.kitchen, plan.sheet, variant);
    if (!changed) return changed.error();
    const auto after = play_nights(*changed, plan.manner, options.seed, helped, options.threads, tick);
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
  const auto stage = rehearse::make_stage(plan->kitchen, plan->sheet, plan->variant);
  if (!stage) return sentence(stage.error(), err);
  Progress progress(err, !options.quiet);
  const auto answer = play(options, *plan, *stage, progress);
  progress.end();
  if (!answer) return sentence(answer.error(), err);
  const auto sentences = rehearse::in_sentences(*stage, answer->summary, answer->changes);
  out << plan->asked.title << '\n';
  for (const std::string& one : sentences) out << one << '\n';
  if (!options.json.empty()) {
    const auto text = rehearse::to_json(plan->asked, *stage, answer->summary, answer->changes, sentences);
    if (Status written = write_file(options.json, text); !written) return sentence(written.error(), err);
  }
  if (!options.page.empty()) {
    const auto text = rehearse::to_page(plan->asked, *stage, answer->summary, answer->changes, sentences);
    if (Status written = write_file(options.page, text); !written) return sentence(written.error(), err);
  }
  return 0;
}

}  // namespace nappe::client
