#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <fstream>

#include "client/batch.hpp"
#include "client/draw.hpp"
#include "client/record_said.hpp"
#include "client/screen.hpp"
#include "common/food/reduction.hpp"
#include "common/food/rules.hpp"

namespace nappe::client {
namespace {

using Json = nlohmann::json;

int to_file_or_out(const Result<std::string>& text, const std::string& file) {
  if (!text) return say_failed(text.error().detail);
  if (file.empty()) {
    fmt::print("{}", *text);
    return 0;
  }
  std::ofstream out(file, std::ios::binary);
  out << *text;
  out.close();
  if (!out) return say_failed(fmt::format("{} cannot be written", file));
  fmt::print("written to {}\n", file);
  return 0;
}

int check_record(const Address& server) {
  const auto answer = get_json(server, "/record/check");
  if (!answer) return say_failed(answer.error().detail);
  const std::string says = answer->value("says", std::string());
  if (!answer->value("whole", false)) return say_failed(says);
  fmt::print("{}\n", says);
  return 0;
}

// Out of a record that was altered figures come only when that is said.
int give_csv(const Address& server, const Said& s) {
  const auto whole = get_json(server, "/record/check");
  if (!whole) return say_failed(whole.error().detail);
  const bool altered = !whole->value("whole", false);
  const int given =
      to_file_or_out(get_text(server, s.sure ? "/record/readings.csv?anyway=yes" : "/record/readings.csv"), s.file);
  if (given == 0 && altered) return say_failed("NOT AS IT WAS WRITTEN: " + whole->value("says", std::string()));
  return given;
}

void add_record(Below& record, const SaidPtr& said) {
  record.add("check", "is the record as it was written? names the first place that is not", check_record);
  CLI::App* batch = record.add("batch", "all that is known of a batch", [said](const Address& a) {
    const std::string path = "/record/batches/" + said->id;
    return to_file_or_out(get_text(a, said->file.empty() ? path + "?as=text" : path), said->file);
  });
  batch->add_option("ID", said->id)->required();
  batch->add_option("--html", said->file, "write the page to print to this file");
  CLI::App* plate = record.add("plate", "from which batches a table's plates were dressed", [said](const Address& a) {
    std::string path = "/record/plates/" + said->table;
    if (!said->course.empty()) path += "?course=" + said->course;
    if (said->number > 0) path += fmt::format("&position={}", said->number);
    return to_file_or_out(get_text(a, path), {});
  });
  plate->add_option("TABLE", said->table)->required();
  plate->add_option("COURSE", said->course);
  plate->add_option("POSITION", said->number);
  CLI::App* csv = record.add("csv", "all readings as CSV", [said](const Address& a) { return give_csv(a, *said); });
  csv->add_option("FILE", said->file);
  csv->add_flag("--anyway", said->sure, "also when the record is not as it was written: it is said on standard error");
}

// What still needs a word before the night can close; with a note, the handover is written.
int close_down(const Address& server, const Said& s) {
  const auto record = get_json(server, "/batches");
  if (!record) return say_failed(record.error().detail);
  int open = 0;
  for (const auto& [id, batch] : (*record)["batches"].items()) {
    if (batch.contains("fate")) continue;
    open += 1;
    const std::string unfit = batch.value("unfit", std::string());
    fmt::print("{} in {}{}: keep, cool or throw?\n", id, batch.value("kept_in", std::string("?")),
               unfit.empty() ? "" : " (" + unfit + ")");
  }
  if (open == 0) fmt::print("every batch has keep, cool or throw with a name\n");
  if (s.reason.empty()) return open == 0 ? 0 : 1;
  const int written = ask_action(server, s.by, "write_handover", {{"note", s.reason}});
  return written != 0 || open > 0 ? 1 : 0;
}

int print_handovers(const Address& server, const Said& s) {
  if (s.number > 0) return ask_action(server, s.by, "answer_handover", {{"handover", s.number}});
  const auto record = get_json(server, "/batches");
  if (!record) return say_failed(record.error().detail);
  if ((*record)["handovers"].empty()) fmt::print("no handover is unread\n");
  for (const auto& [number, handover] : (*record)["handovers"].items()) {
    fmt::print("handover {}, from {}: {}\n", number, handover.value("by", std::string()),
               handover.value("note", std::string()));
    for (const Json& line : handover["different"]) fmt::print("  {}\n", line.get<std::string>());
    fmt::print("  unread: nappe handover {} --by NAME\n", number);
  }
  return 0;
}

// Every batch the last power cut concerns, by the place it is kept in, with its reason.
int print_power(const Address& server) {
  const auto record = get_json(server, "/batches");
  if (!record) return say_failed(record.error().detail);
  if (!record->contains("power")) {
    fmt::print("no power cut is on record\n");
    return 0;
  }
  const auto time = kitchen_time(server);
  if (!time) return say_failed(time.error().detail);
  const auto when = [&](const char* key) {
    return to_rfc3339(from_ms((*record)["power"].value(key, std::int64_t{0})) + time->offset).substr(0, 16);
  };
  const bool back = (*record)["power"].contains("back_ms");
  fmt::print("power off {}, {}\n", when("off_ms"), back ? "back " + when("back_ms") : std::string("not back yet"));
  std::map<std::string, std::string> places;
  for (const auto& [id, batch] : (*record)["batches"].items()) {
    if (!batch.contains("cut")) continue;
    std::string prefix = fmt::format("  {:<8} ", batch["cut"].value("verdict", std::string()));
    std::string& lines = places[batch.value("kept_in", std::string("no place named"))];
    const std::string says = fmt::format("{}: {}", id, batch["cut"].value("says", std::string()));
    for (const std::string& line : wrapped(says, std::max(20, terminal_columns() - columns_of(prefix)))) {
      lines += prefix + line + "\n";
      prefix.assign(prefix.size(), ' ');
    }
  }
  for (const auto& [place, lines] : places) fmt::print("{}\n{}", place, lines);
  if (places.empty()) fmt::print("no batch is kept at a temperature that the cut concerns\n");
  fmt::print("{}\n", food::caution);
  return 0;
}

int tell_power(const Address& server, const Said& s, bool on) {
  Json body{{"on", on}};
  if (s.ago > 0) {
    const auto time = kitchen_time(server);
    if (!time) return say_failed(time.error().detail);
    body["since_ms"] = to_ms(time->now - minutes(s.ago));
  }
  const int asked = ask_action(server, s.by, "tell_power", std::move(body));
  return asked != 0 || !on ? asked : print_power(server);
}

void add_power(Below& power, const SaidPtr& said) {
  const auto tell = [&](const char* name, const char* what, bool on) {
    CLI::App* one = power.add(name, what, [said, on](const Address& a) { return tell_power(a, *said, on); });
    one->add_option("--ago", said->ago, "minutes since; the record says that it was entered later")
        ->check(whole(1, 14400));
    name_option(one, said);
  };
  tell("off", "the power is off: doors shut, the clocks run", false);
  tell("back", "it is back: what is to be read, and what is thrown", true);
  power.add("list", "every batch the cut concerns, with its verdict and its reason",
            [](const Address& a) { return print_power(a); });
}

// Two weighings of a pot, no server asked: when it is there.
int weigh(const Said& s) {
  const food::Weighings pot{s.weights[0], s.weights[1], minutes(s.number), s.weights[2]};
  const auto left = food::reduction_left(pot);
  if (!left) return say_failed(left.error().detail);
  const auto text = [](Duration span) {
    return fmt::format("{} min", std::chrono::round<std::chrono::minutes>(span).count());
  };
  fmt::print("{:g} kg after {} more at this rate ({:.3f} kg a minute); {} more if the last tenth is turned down\n",
             s.weights[2], text(left->at_this_rate), left->kg_per_minute, text(left->gentle_extra));
  return 0;
}

}  // namespace

Below::Below(CLI::App* app) : app_(app) { app_->require_subcommand(1); }

CLI::App* Below::add(const char* name, const char* what, Run run) {
  CLI::App* one = app_->add_subcommand(name, what);
  one->fallthrough();  // --server and its like may stand behind
  runs_[one] = std::move(run);
  return one;
}

Run Below::run() const {
  return [app = app_, runs = runs_](const Address& server) { return runs.at(app->get_subcommands().front())(server); };
}

void name_option(CLI::App* app, const SaidPtr& said) {
  app->add_option("--by", said->by.name, "who answers for it: goes into the record; else $NAPPE_BY")
      ->required(said->by.name.empty());
  app->add_flag("--stranger", said->by.stranger, "whoever that is, is not of the house: the record says so");
}

CLI::Validator whole(long low, long high) {
  const auto check = [low, high](const std::string& text) {
    long number = 0;
    const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), number);
    const bool good = error == std::errc() && end == text.data() + text.size() && number >= low && number <= high;
    return good ? std::string() : fmt::format("give a whole number from {} to {}, not \"{}\"", low, high, text);
  };
  return CLI::Validator(check, fmt::format("{}..{}", low, high));
}

CLI::Validator celsius() {
  const auto check = [](const std::string& text) {
    constexpr double coldest = -60;
    constexpr double hottest = 300;
    double number = 0;
    const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), number);
    const bool good = error == std::errc() && end == text.data() + text.size() && std::isfinite(number) &&
                      number >= coldest && number <= hottest;
    return good
               ? std::string()
               : fmt::format("give degrees Celsius from {:g} to {:g}, such as 4.5, not \"{}\"", coldest, hottest, text);
  };
  return CLI::Validator(check, "CELSIUS");
}

std::map<const CLI::App*, Run> add_record_commands(CLI::App& app) {
  const auto said = std::make_shared<Said>();
  if (const char* by = std::getenv("NAPPE_BY")) said->by.name = by;
  std::map<const CLI::App*, Run> runs;
  const auto add = [&](const char* name, const char* what, const std::function<void(Below&)>& fill) {
    CLI::App* one = app.add_subcommand(name, what);
    Below below(one);
    fill(below);
    runs[one] = below.run();
  };
  add("batch", "what is made ahead: made, split, cooled, reheated, labelled, thrown",
      [&](Below& batch) { add_batch(batch, said); });
  add("probe", "readings by hand, checks of probes, corrections", [&](Below& probe) { add_probe(probe, said); });
  add("record", "the record: is it whole, and what does it say", [&](Below& record) { add_record(record, said); });
  add("power", "the mains went, or are back: a verdict for everything that is kept at a temperature",
      [&](Below& power) { add_power(power, said); });
  CLI::App* pot = app.add_subcommand("weigh", "a reduction by weight: nappe weigh 6.00 5.20 1.20 --minutes 10");
  pot->add_option("KG", said->weights, "before, now, and where it should end")->required()->expected(3);
  pot->add_option("--minutes", said->number, "between the two weighings")->required()->check(whole(1, 1440));
  runs[pot] = [said](const Address&) { return weigh(*said); };
  CLI::App* down = app.add_subcommand("close-down", "what still needs keep, cool or throw; --note writes the handover");
  down->add_option("--note", said->reason, "what the next one must know");
  down->add_option("--by", said->by.name, "who hands over; else $NAPPE_BY");
  down->add_flag("--stranger", said->by.stranger, "whoever that is, is not of the house");
  runs[down] = [said](const Address& server) { return close_down(server, *said); };
  CLI::App* handover =
      app.add_subcommand("handover", "what was handed over and nobody has answered; NUMBER answers it");
  handover->add_option("NUMBER", said->number);
  handover->add_option("--by", said->by.name, "who has read it; else $NAPPE_BY");
  handover->add_flag("--stranger", said->by.stranger, "whoever that is, is not of the house");
  runs[handover] = [said](const Address& server) { return print_handovers(server, *said); };
  return runs;
}

}  // namespace nappe::client
