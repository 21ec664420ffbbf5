// Batches and probes from the command line.

#include <fmt/format.h>

#include <cstdio>

#include "client/label.hpp"
#include "client/record_said.hpp"

namespace nappe::client {
namespace {

using Json = nlohmann::json;

Json made_body(const Said& s) {
  Json body{
      {"kind", s.kind}, {"clean_first", s.clean_first}, {"vacuum", s.vacuum}, {"labelled", false}, {"sure", s.sure}};
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
  made->add_option("--portions", said->portions, "how many")->check(whole(1, 10000));
  made->add_option("--grams", said->grams, "or its weight")->check(whole(1, 1000000));
  made->add_option("--lot", said->lots, "a delivery that went in")->allow_extra_args(false);
  made->add_option("--from", said->from, "a batch that went in")->allow_extra_args(false);
  made->add_option("--kept-in", said->where, "where it is");
  made->add_option("--kept-c", said->kept_c, "at how many degrees it is kept")->check(celsius());
  made->add_option("--allergen", said->allergens, "what it holds")->allow_extra_args(false);
  made->add_option("--free-from", said->free_from, "what it was made without, on purpose")->allow_extra_args(false);
  made->add_flag("--clean-first", said->clean_first, "board and knife were clean: needed with --free-from");
  made->add_option("--life", said->life, "minutes it lives")->check(whole(1, 1440000));
  made->add_option("--days", said->days, "or days on: 0 is today")->check(whole(0, 1000));
  made->add_option("--takes", said->takes, "minutes it takes to make again in service")->check(whole(1, 1440));
  made->add_option("--named", said->named, "as people say it");
  made->add_option("--station", said->station, "who makes it again");
  made->add_flag("--vacuum", said->vacuum, "vacuum packed");
  made->add_flag("--sure", said->sure, "a kind, or a place, that the sheet does not know: it is meant");
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
      ->required()
      ->check(whole(2, 20));
  CLI::App* mix = batch.add("mix", "several become one: the older date, all allergens", [said](const Address& a) {
    return ask_action(a, said->by, "mix_batches", {{"batches", said->ids}});
  });
  mix->add_option("IDS", said->ids)->required()->expected(2, 20);
  name_option(mix, said);
  CLI::App* move = about_one(batch, "move", "it is somewhere else now", said, [said](const Address& a) {
    Json body{{"batch", said->id}, {"kept_in", said->where}, {"sure", said->sure}};
    put(body, "kept_c", said->kept_c);
    return ask_action(a, said->by, "move_batch", std::move(body));
  });
  move->add_option("PLACE", said->where)->required();
  move->add_option("--kept-c", said->kept_c, "at how many degrees it is kept there")->check(celsius());
  move->add_flag("--sure", said->sure, "a place nobody has named before: it is meant");
  about_one(batch, "open", "its packet was opened", said,
            [said](const Address& a) {
              return ask_action(a, said->by, "open_batch", {{"batch", said->id}, {"within_min", said->number}});
            })
      ->add_option("MINUTES", said->number, "use within")
      ->required()
      ->check(whole(1, 1440000));
  about_one(batch, "label", "print its label, text and QR code; it counts as put on", said, [said](const Address& a) {
    return print_label(a, *said);
  })->add_flag("--off", said->off, "it has come off: no label, no use");
  CLI::App* count = about_one(batch, "count", "what was counted or weighed", said, [said](const Address& a) {
    Json body{{"batch", said->id}};
    put(body, "portions", said->portions);
    put(body, "grams", said->grams);
    return ask_action(a, said->by, "count_batch", std::move(body));
  });
  count->add_option("--portions", said->portions)->check(whole(0, 10000));
  count->add_option("--grams", said->grams)->check(whole(0, 1000000));
}

void add_heat_and_cold(Below& batch, const SaidPtr& said) {
  CLI::App* chill = about_one(batch, "chill", "into the chiller: core and air now", said, [said](const Address& a) {
    return ask_action(
        a, said->by, "start_chill",
        {{"batch", said->id}, {"celsius", said->celsius}, {"air_c", said->air_c}, {"probe", said->probe}});
  });
  chill->add_option("CELSIUS", said->celsius, "its core")->required()->check(celsius());
  chill->add_option("--air", said->air_c, "the air around it")->required()->check(celsius());
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
  reheat->add_option("CELSIUS", said->celsius)->required()->check(celsius());
  reheat->add_option("SECONDS", said->number)->required()->check(whole(0, 86400));
  reheat->add_option("--probe", said->probe)->required();
  reheat->add_flag("--to-order", said->to_order, "one portion, served at once");
  CLI::App* recook = about_one(
      batch, "recook", "its cooling missed: cooked again, where the rules in force say how; once only", said,
      [said](const Address& a) {
        return ask_action(
            a, said->by, "recook_batch",
            {{"batch", said->id}, {"celsius", said->celsius}, {"lasting_s", said->number}, {"probe", said->probe}});
      });
  recook->add_option("CELSIUS", said->celsius, "its core")->required()->check(celsius());
  recook->add_option("SECONDS", said->number, "for how long")->required()->check(whole(0, 86400));
  recook->add_option("--probe", said->probe)->required();
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
  thrown->add_option("--portions", said->portions)->check(whole(1, 10000));
  thrown->add_option("--grams", said->grams)->check(whole(1, 1000000));
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
  Json body{{"probe", s.probe}, {"celsius", s.celsius}, {"sure", s.sure}};
  put(body, "batch", s.batch);
  put(body, "place", s.place);
  if (s.ago > 0) {
    const auto time = kitchen_time(server);
    if (!time) return say_failed(time.error().detail);
    body["taken_ms"] = to_ms(time->now - minutes(s.ago));
  }
  return ask_action(server, s.by, "take_reading", std::move(body));
}

}  // namespace

void add_batch(Below& batch, const SaidPtr& said) {
  add_made(batch, said);
  add_handling(batch, said);
  add_heat_and_cold(batch, said);
  add_ends(batch, said);
}

void add_probe(Below& probe, const SaidPtr& said) {
  CLI::App* read = probe.add("read", "a reading by hand: nappe probe read blue 72.4 --batch swede_puree-20261120",
                             [said](const Address& a) { return take_reading(a, *said); });
  read->add_option("PROBE", said->probe)->required();
  read->add_option("CELSIUS", said->celsius)->required()->check(celsius());
  read->add_option("--batch", said->batch);
  read->add_option("--place", said->place, "a fridge, the hot cupboard");
  read->add_option("--ago", said->ago, "minutes since it was taken; the record says that it was entered later")
      ->check(whole(1, 14400));
  read->add_flag("--sure", said->sure, "it is the right probe, the right batch; or the place is a new one");
  name_option(read, said);
  CLI::App* check =
      probe.add("check", "the probe in iced (-1 to +1) or boiling water (99 to 101)", [said](const Address& a) {
        return ask_action(a, said->by, "check_probe",
                          {{"probe", said->probe}, {"bath", said->kind}, {"celsius", said->celsius}});
      });
  check->add_option("PROBE", said->probe)->required();
  check->add_option("BATH", said->kind)->required()->check(CLI::IsMember({"iced", "boiling"}));
  check->add_option("CELSIUS", said->celsius)->required()->check(celsius());
  name_option(check, said);
  CLI::App* correct = probe.add("correct", "a reading was wrong; both stay in the record", [said](const Address& a) {
    return ask_action(a, said->by, "correct_reading",
                      {{"reading", said->number}, {"celsius", said->celsius}, {"why", said->reason}});
  });
  correct->add_option("READING", said->number)->required();
  correct->add_option("CELSIUS", said->celsius)->required()->check(celsius());
  correct->add_option("WHY", said->reason)->required();
  name_option(correct, said);
}

}  // namespace nappe::client
