#include "client/batch.hpp"

#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <cstdio>
#include <cstdlib>
#include <fstream>
#include <memory>

#include "client/label.hpp"
#include "client/record_ask.hpp"

namespace nappe::client {
namespace {

using Json = nlohmann::json;
using Run = std::function<int(const Address&)>;

// What the options are read into; lives as long as the program's commands.
struct Said {
  std::string by, id, kind, where, reason, probe, batch, place, file, table, course, named, station;
  std::vector<std::string> ids, lots, from, allergens, free_from;
  std::optional<int> portions, grams, life, days, takes;
  std::optional<double> kept_c;
  double celsius = 0;
  double air_c = 0;
  int number = 0;
  int ago = 0;
  bool clean_first = false, vacuum = false, off = false, to_order = false;
};
using SaidPtr = std::shared_ptr<Said>;

// The subcommand that was asked below a command, and what it runs.
class Below {
 public:
  explicit Below(CLI::App* app) : app_(app) { app_->require_subcommand(1); }
  CLI::App* add(const char* name, const char* what, Run run) {
    CLI::App* one = app_->add_subcommand(name, what);
    one->fallthrough();  // --server and its like may stand behind
    runs_[one] = std::move(run);
    return one;
  }
  [[nodiscard]] Run run() const {
    return
        [app = app_, runs = runs_](const Address& server) { return runs.at(app->get_subcommands().front())(server); };
  }

 private:
  CLI::App* app_;
  std::map<const CLI::App*, Run> runs_;
};

void name_option(CLI::App* app, const SaidPtr& said) {
  app->add_option("--by", said->by, "who answers for it: goes into the record; else $NAPPE_BY")
      ->required(said->by.empty());
}

template <class T>
void put(Json& body, const char* name, const std::optional<T>& value) {
  if (value) body[name] = *value;
}
void put(Json& body, const char* name, const std::string& value) {
  if (!value.empty()) body[name] = value;
}
void put(Json& body, const char* name, const std::vector<std::string>& value) {
  if (!value.empty()) body[name] = value;
}

Json made_body(const Said& s) {
  Json body{{"kind", s.kind}, {"clean_first", s.clean_first}, {"vacuum", s.vacuum}, {"labelled", false}};
  for (const std::string& lot : s.lots) body["lots"].push_back({{"what", lot}});
  put(body, "named", s.named);
  put(body, "station", s.station);
  put(body, "made_from", s.from);
  put(body, "portions", s.portions);
  put(body, "grams", s.grams);
  put(body, "kept_in", s.where);
  put(body, "kept_c", s.kept_c);
  put(body, "allergens", s.allergens);
  put(body, "free_from", s.free_from);
  put(body, "life_min", s.life);
  put(body, "use_by_days", s.days);
  put(body, "takes_min", s.takes);
  return body;
}

int print_batches(const Address& server) {
  const auto record = get_json(server, "/batches");
  if (!record) return say_failed(record.error().detail);
  const auto time = kitchen_time(server);
  if (!time) return say_failed(time.error().detail);
  for (const auto& [id, batch] : (*record)["batches"].items()) {
    std::string left;
    if (batch.contains("portions")) left = fmt::format("{} left", batch["portions"].get<int>());
    if (batch.contains("grams")) left += fmt::format("{}{} g", left.empty() ? "" : ", ", batch["grams"].get<int>());
    const std::string until = to_rfc3339(from_ms(batch.value("use_by_ms", std::int64_t{0})) + time->offset);
    const std::string unfit = batch.value("unfit", std::string());
    fmt::print("{:<24} {:<16} {:<16} use by {} {}  {}{}\n", id, left, batch.value("kept_in", std::string()),
               until.substr(0, 10), until.substr(11, 5), unfit.empty() ? "" : "not for use: " + unfit,
               batch.contains("fate")
                   ? "  " + batch.value("fate", std::string()) + ", " + batch.value("fate_by", std::string())
                   : "");
  }
  for (const auto& [place, what] : (*record)["places"].items())
    if (what.value("fault", false)) fmt::print("{}: at fault\n", place);
  for (const auto& [probe, what] : (*record)["probes"].items())
    if (what.value("failed", false)) fmt::print("probe {}: failed its last check\n", probe);
  fmt::print("rules in force: {}\n", record->value("rules", std::string("none yet")));
  return 0;
}

std::vector<std::string> words_of(const Json& list) {
  std::vector<std::string> words;
  for (const Json& word : list) words.push_back(word.get<std::string>());
  return words;
}

// Prints the label; it counts as put on, for that is what it is printed for.
int print_label(const Address& server, const Said& s) {
  if (s.off) return ask_action(server, s.by, "label_batch", {{"batch", s.id}, {"on", false}});
  const auto record = get_json(server, "/batches");
  if (!record) return say_failed(record.error().detail);
  const auto time = kitchen_time(server);
  if (!time) return say_failed(time.error().detail);
  if (!(*record)["batches"].contains(s.id)) return say_failed(fmt::format("there is no batch \"{}\"", s.id));
  const Json& batch = (*record)["batches"][s.id];
  Label label;
  label.id = s.id;
  label.name = batch.value("name", s.id);
  label.by = batch.value("by", std::string());
  label.made = from_ms(batch.value("made_ms", std::int64_t{0}));
  label.use_by = from_ms(batch.value("use_by_ms", std::int64_t{0}));
  label.ends = batch.value("ends", std::string());
  label.allergens = words_of(batch["allergens"]);
  label.free_from = words_of(batch["free_from"]);
  label.utc_offset = time->offset;
  const auto text = label_text(label);
  if (!text) return say_failed(text.error().detail);
  // First the record, then the paper: a label that was refused must not lie about.
  if (const int refused = ask_action(server, s.by, "label_batch", {{"batch", s.id}, {"on", true}}); refused != 0)
    return refused;
  fmt::print("{}", *text);
  return 0;
}

void add_made(Below& batch, const SaidPtr& said) {
  CLI::App* made =
      batch.add("made", "a batch was made; what the house's sheet knows of its kind is filled in",
                [said](const Address& a) { return ask_action(a, said->by, "make_batch", made_body(*said)); });
  made->add_option("KIND", said->kind, "as the sheet of batches calls it: swede_puree")->required();
  made->add_option("--portions", said->portions, "how many");
  made->add_option("--grams", said->grams, "or its weight");
  made->add_option("--lot", said->lots, "a delivery that went in")->allow_extra_args(false);
  made->add_option("--from", said->from, "a batch that went in")->allow_extra_args(false);
  made->add_option("--kept-in", said->where, "where it is");
  made->add_option("--kept-c", said->kept_c, "at how many degrees it is kept");
  made->add_option("--allergen", said->allergens, "what it holds")->allow_extra_args(false);
  made->add_option("--free-from", said->free_from, "what it was made without, on purpose")->allow_extra_args(false);
  made->add_flag("--clean-first", said->clean_first, "board and knife were clean: needed with --free-from");
  made->add_option("--life", said->life, "minutes it lives");
  made->add_option("--days", said->days, "or days on: 0 is today");
  made->add_option("--takes", said->takes, "minutes it takes to make again in service");
  made->add_option("--named", said->named, "as people say it");
  made->add_option("--station", said->station, "who makes it again");
  made->add_flag("--vacuum", said->vacuum, "vacuum packed");
  name_option(made, said);
}

// One argument ID and a name.
CLI::App* about_one(Below& batch, const char* name, const char* what, const SaidPtr& said, Run run) {
  CLI::App* one = batch.add(name, what, std::move(run));
  one->add_option("ID", said->id, "the batch")->required();
  name_option(one, said);
  return one;
}

void add_handling(Below& batch, const SaidPtr& said) {
  about_one(batch, "split", "it is in several vessels now", said,
            [said](const Address& a) {
              return ask_action(a, said->by, "split_batch", {{"batch", said->id}, {"into", said->number}});
            })
      ->add_option("INTO", said->number, "how many")
      ->required();
  CLI::App* mix = batch.add("mix", "several become one: the older date, all allergens", [said](const Address& a) {
    return ask_action(a, said->by, "mix_batches", {{"batches", said->ids}});
  });
  mix->add_option("IDS", said->ids)->required()->expected(2, 20);
  name_option(mix, said);
  about_one(batch, "move", "it is somewhere else now", said,
            [said](const Address& a) {
              Json body{{"batch", said->id}, {"kept_in", said->where}};
              put(body, "kept_c", said->kept_c);
              return ask_action(a, said->by, "move_batch", std::move(body));
            })
      ->add_option("PLACE", said->where)
      ->required();
  about_one(batch, "open", "its packet was opened", said,
            [said](const Address& a) {
              return ask_action(a, said->by, "open_batch", {{"batch", said->id}, {"within_min", said->number}});
            })
      ->add_option("MINUTES", said->number, "use within")
      ->required();
  about_one(batch, "label", "print its label, text and QR code; it counts as put on", said, [said](const Address& a) {
    return print_label(a, *said);
  })->add_flag("--off", said->off, "it has come off: no label, no use");
  CLI::App* count = about_one(batch, "count", "what was counted or weighed", said, [said](const Address& a) {
    Json body{{"batch", said->id}};
    put(body, "portions", said->portions);
    put(body, "grams", said->grams);
    return ask_action(a, said->by, "count_batch", std::move(body));
  });
  count->add_option("--portions", said->portions);
  count->add_option("--grams", said->grams);
}

void add_heat_and_cold(Below& batch, const SaidPtr& said) {
  CLI::App* chill = about_one(batch, "chill", "into the chiller: core and air now", said, [said](const Address& a) {
    return ask_action(
        a, said->by, "start_chill",
        {{"batch", said->id}, {"celsius", said->celsius}, {"air_c", said->air_c}, {"probe", said->probe}});
  });
  chill->add_option("CELSIUS", said->celsius, "its core")->required();
  chill->add_option("--air", said->air_c, "the air around it")->required();
  chill->add_option("--probe", said->probe)->required();
  CLI::App* reheat =
      about_one(batch, "reheat", "the core was so warm for so long; once only", said, [said](const Address& a) {
        return ask_action(a, said->by, "reheat_batch",
                          {{"batch", said->id},
                           {"celsius", said->celsius},
                           {"lasting_s", said->number},
                           {"probe", said->probe},
                           {"to_order", said->to_order}});
      });
  reheat->add_option("CELSIUS", said->celsius)->required();
  reheat->add_option("SECONDS", said->number)->required();
  reheat->add_option("--probe", said->probe)->required();
  reheat->add_flag("--to-order", said->to_order, "one portion, served at once");
}

void add_ends(Below& batch, const SaidPtr& said) {
  CLI::App* thrown =
      about_one(batch, "throw", "thrown, all of it or as much as is named", said, [said](const Address& a) {
        Json body{{"batch", said->id}, {"reason", said->reason}};
        put(body, "portions", said->portions);
        put(body, "grams", said->grams);
        return ask_action(a, said->by, "throw_batch", std::move(body));
      });
  thrown->add_option("REASON", said->reason)->required();
  thrown->add_option("--portions", said->portions);
  thrown->add_option("--grams", said->grams);
  for (const char* const fate : {"keep", "cool"}) {
    about_one(batch, fate, "what becomes of it at close-down", said, [said, fate](const Address& a) {
      return ask_action(a, said->by, "keep_batch", {{"batch", said->id}, {"fate", fate}});
    });
  }
  about_one(batch, "note", "a remark that stands in its record", said,
            [said](const Address& a) {
              return ask_action(a, said->by, "note_batch", {{"batch", said->id}, {"note", said->reason}});
            })
      ->add_option("TEXT", said->reason)
      ->required();
  batch.add("list", "what is there, how much, until when", [](const Address& a) { return print_batches(a); });
}

int take_reading(const Address& server, const Said& s) {
  if (s.batch.empty() == s.place.empty()) return say_failed("name one of --batch and --place");
  Json body{{"probe", s.probe}, {"celsius", s.celsius}};
  put(body, "batch", s.batch);
  put(body, "place", s.place);
  if (s.ago > 0) {
    const auto time = kitchen_time(server);
    if (!time) return say_failed(time.error().detail);
    body["taken_ms"] = to_ms(time->now - minutes(s.ago));
  }
  return ask_action(server, s.by, "take_reading", std::move(body));
}

void add_probe(Below& probe, const SaidPtr& said) {
  CLI::App* read = probe.add("read", "a reading by hand: nappe probe read blue 72.4 --batch swede_puree-1120",
                             [said](const Address& a) { return take_reading(a, *said); });
  read->add_option("PROBE", said->probe)->required();
  read->add_option("CELSIUS", said->celsius)->required();
  read->add_option("--batch", said->batch);
  read->add_option("--place", said->place, "a fridge, the hot cupboard");
  read->add_option("--ago", said->ago, "minutes since it was taken; the record says that it was entered later");
  name_option(read, said);
  CLI::App* check =
      probe.add("check", "the probe in iced (-1 to +1) or boiling water (99 to 101)", [said](const Address& a) {
        return ask_action(a, said->by, "check_probe",
                          {{"probe", said->probe}, {"bath", said->kind}, {"celsius", said->celsius}});
      });
  check->add_option("PROBE", said->probe)->required();
  check->add_option("BATH", said->kind)->required()->check(CLI::IsMember({"iced", "boiling"}));
  check->add_option("CELSIUS", said->celsius)->required();
  name_option(check, said);
  CLI::App* correct = probe.add("correct", "a reading was wrong; both stay in the record", [said](const Address& a) {
    return ask_action(a, said->by, "correct_reading",
                      {{"reading", said->number}, {"celsius", said->celsius}, {"why", said->reason}});
  });
  correct->add_option("READING", said->number)->required();
  correct->add_option("CELSIUS", said->celsius)->required();
  correct->add_option("WHY", said->reason)->required();
  name_option(correct, said);
}

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
  CLI::App* csv = record.add("csv", "all readings as CSV", [said](const Address& a) {
    return to_file_or_out(get_text(a, "/record/readings.csv"), said->file);
  });
  csv->add_option("FILE", said->file);
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

}  // namespace

std::map<const CLI::App*, Run> add_record_commands(CLI::App& app) {
  const auto said = std::make_shared<Said>();
  if (const char* by = std::getenv("NAPPE_BY")) said->by = by;
  std::map<const CLI::App*, Run> runs;
  const auto add = [&](const char* name, const char* what, const std::function<void(Below&)>& fill) {
    CLI::App* one = app.add_subcommand(name, what);
    Below below(one);
    fill(below);
    runs[one] = below.run();
  };
  add("batch", "what is made ahead: made, split, cooled, reheated, labelled, thrown", [&](Below& batch) {
    add_made(batch, said);
    add_handling(batch, said);
    add_heat_and_cold(batch, said);
    add_ends(batch, said);
  });
  add("probe", "readings by hand, checks of probes, corrections", [&](Below& probe) { add_probe(probe, said); });
  add("record", "the record: is it whole, and what does it say", [&](Below& record) { add_record(record, said); });
  CLI::App* down = app.add_subcommand("close-down", "what still needs keep, cool or throw; --note writes the handover");
  down->add_option("--note", said->reason, "what the next one must know");
  down->add_option("--by", said->by, "who hands over; else $NAPPE_BY");
  runs[down] = [said](const Address& server) { return close_down(server, *said); };
  CLI::App* handover =
      app.add_subcommand("handover", "what was handed over and nobody has answered; NUMBER answers it");
  handover->add_option("NUMBER", said->number);
  handover->add_option("--by", said->by, "who has read it; else $NAPPE_BY");
  runs[handover] = [said](const Address& server) { return print_handovers(server, *said); };
  return runs;
}

}  // namespace nappe::client
