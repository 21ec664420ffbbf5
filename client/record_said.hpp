#pragma once
// Shared by the commands about batches, probes and the record: what their options are read into.

#include <CLI/CLI.hpp>
#include <functional>
#include <map>
#include <memory>
#include <nlohmann/json.hpp>
#include <optional>
#include <string>
#include <vector>

#include "client/record_ask.hpp"

namespace nappe::client {

/// What the options are read into; lives as long as the program's commands.
struct Said {
  Who by;
  std::string id, kind, where, reason, probe, batch, place, file, table, course, named, station;
  std::vector<std::string> ids, lots, from, allergens, free_from;
  std::optional<int> portions, grams, life, days, takes;
  std::optional<double> kept_c;
  std::vector<double> weights;
  double celsius = 0;
  double air_c = 0;
  int number = 0;
  int ago = 0;
  bool clean_first = false, vacuum = false, off = false, to_order = false, sure = false;
};
using SaidPtr = std::shared_ptr<Said>;
using Run = std::function<int(const Address&)>;

/// The subcommand that was asked below a command, and what it runs.
class Below {
 public:
  explicit Below(CLI::App* app);
  CLI::App* add(const char* name, const char* what, Run run);
  [[nodiscard]] Run run() const;

 private:
  CLI::App* app_;
  std::map<const CLI::App*, Run> runs_;
};

/// --by, and --stranger for somebody who is not of the house.
void name_option(CLI::App* app, const SaidPtr& said);

/// A whole number within these bounds, and a temperature food can have: refused in one sentence when the command is
/// read.
CLI::Validator whole(long low, long high);
CLI::Validator celsius();

template <class T>
void put(nlohmann::json& body, const char* name, const std::optional<T>& value) {
  if (value) body[name] = *value;
}
inline void put(nlohmann::json& body, const char* name, const std::string& value) {
  if (!value.empty()) body[name] = value;
}
inline void put(nlohmann::json& body, const char* name, const std::vector<std::string>& value) {
  if (!value.empty()) body[name] = value;
}

void add_batch(Below& batch, const SaidPtr& said);
void add_probe(Below& probe, const SaidPtr& said);

}  // namespace nappe::client
