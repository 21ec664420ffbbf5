#include "tests/support/kitchen_dzn.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <cctype>
#include <map>
#include <stdexcept>

namespace nappe::tests {
namespace {

std::size_t at(int index) { return static_cast<std::size_t>(index); }

/// Every `name = 1` and `name = [1, 2]` of the text.
std::map<std::string, std::vector<int>> read_fields(const std::string& text) {
  std::map<std::string, std::vector<int>> fields;
  std::size_t i = 0;
  while (i < text.size()) {
    const std::size_t equals = text.find('=', i);
    if (equals == std::string::npos) break;
    const std::size_t stop = text.find(';', equals);
    if (stop == std::string::npos) throw std::runtime_error("a field without its semicolon");
    std::string name;
    for (char c : text.substr(i, equals - i)) {
      if (std::isalnum(static_cast<unsigned char>(c)) != 0) name += c;
    }
    std::vector<int>& values = fields[name];
    std::string number;
    for (char c : text.substr(equals + 1, stop - equals)) {
      if (std::isdigit(static_cast<unsigned char>(c)) != 0 || c == '-') {
        number += c;
      } else if (!number.empty()) {
        values.push_back(std::stoi(number));
        number.clear();
      }
    }
    i = stop + 1;
  }
  return fields;
}

}  // namespace

KitchenDzn read_kitchen_dzn(const std::string& text) {
  auto fields = read_fields(text);
  const auto one = [&](const char* name) { return fields.at(name).at(0); };
  KitchenDzn data;
  data.horizon = one("H");
  data.duration = fields.at("dur");
  data.capacity = fields.at("cap");
  for (std::size_t i = 0; i < fields.at("us").size(); ++i) {
    data.usages.push_back({fields["us"][i] - 1, fields.at("ur").at(i) - 1});
  }
  for (std::size_t i = 0; i < fields.at("la").size(); ++i) {
    data.lags.push_back({fields["la"][i] - 1, fields.at("lb").at(i) - 1, fields.at("lmin").at(i),
                         fields.at("lmax").at(i), fields.at("hw").at(i)});
  }
  for (std::size_t i = 0; i < fields.at("ps").size(); ++i) {
    data.platings.push_back({fields["ps"][i] - 1, fields.at("pt").at(i) - 1});
  }
  data.target = fields.at("target");
  data.max_spread = one("maxspread");
  data.price_late = one("wlate");
  data.price_early = one("wearly");
  data.price_wait = one("wwait");
  return data;
}

std::string write_kitchen_dzn(const KitchenDzn& data) {
  const auto column = [](const auto& rows, auto value) {
    std::vector<int> values;
    for (const auto& row : rows) values.push_back(value(row));
    return fmt::format("[{}]", fmt::join(values, ", "));
  };
  const auto plain = [](int v) { return v; };
  std::string text =
      fmt::format("H={};\nnS={};\nnL={};\nnP={};\nnT={};\nnR={};\nnU={};\n", data.horizon, data.duration.size(),
                  data.lags.size(), data.platings.size(), data.target.size(), data.capacity.size(), data.usages.size());
  text += fmt::format("dur={};\ncap={};\n", column(data.duration, plain), column(data.capacity, plain));
  text += fmt::format("us={};\nur={};\n", column(data.usages, [](const auto& u) { return u.step + 1; }),
                      column(data.usages, [](const auto& u) { return u.resource + 1; }));
  text += fmt::format(
      "la={};\nlb={};\nlmin={};\nlmax={};\nhw={};\n", column(data.lags, [](const auto& l) { return l.from + 1; }),
      column(data.lags, [](const auto& l) { return l.to + 1; }), column(data.lags, [](const auto& l) { return l.min; }),
      column(data.lags, [](const auto& l) { return l.max; }), column(data.lags, [](const auto& l) { return l.price; }));
  text += fmt::format("ps={};\npt={};\n", column(data.platings, [](const auto& p) { return p.step + 1; }),
                      column(data.platings, [](const auto& p) { return p.table + 1; }));
  text += fmt::format("target={};\nmaxspread={};\nwlate={};\nwearly={};\nwwait={};\n", column(data.target, plain),
                      data.max_spread, data.price_late, data.price_early, data.price_wait);
  return text;
}

namespace {

/// Builds the planner's problem from a file's steps.
class Builder {
 public:
  explicit Builder(const KitchenDzn& data)
      : data_(data), lag_after_(data.duration.size(), -1), lag_before_(data.duration.size(), 0) {
    plate_of_.assign(data.duration.size(), -1);
    step_block_.assign(data.duration.size(), -1);
    step_offset_.assign(data.duration.size(), 0);
  }

  plan::KitchenProblem build() {
    for (int capacity : data_.capacity) problem_.resources.push_back({capacity});
    for (int wanted : data_.target) {
      plan::Course course;
      course.wanted = wanted;
      course.price_late = data_.price_late;
      course.price_early = data_.price_early;
      course.early_max = wanted;
      course.spread_max = data_.max_spread;
      course.price_spread = data_.price_wait;
      plan::add_course(problem_, course);
    }
    for (const auto& plating : data_.platings) {
      const std::vector<plan::Use> uses = uses_of({plating.step});
      plan::Block block;
      block.length = data_.duration[at(plating.step)];
      plate_of_[at(plating.step)] = plan::add_plate(problem_, plating.table, block, uses);
      step_block_[at(plating.step)] = static_cast<int>(problem_.blocks.size()) - 1;
    }
    for (std::size_t l = 0; l < data_.lags.size(); ++l) {
      lag_after_[at(data_.lags[l].from)] = static_cast<int>(l);
      ++lag_before_[at(data_.lags[l].to)];
    }
    for (int step = 0; step < static_cast<int>(data_.duration.size()); ++step) {
      if (plate_of_[at(step)] < 0 && lag_before_[at(step)] == 0) add_chain(step);
    }
    return problem_;
  }
  const std::vector<int>& step_block() const { return step_block_; }
  const std::vector<plan::Tick>& step_offset() const { return step_offset_; }

 private:
  std::vector<plan::Use> uses_of(const std::vector<int>& steps) {
    std::vector<plan::Use> uses;
    plan::Tick offset = 0;
    for (int step : steps) {
      for (const auto& usage : data_.usages) {
        if (usage.step == step) uses.push_back({usage.resource, 1, offset, offset + data_.duration[at(step)]});
      }
      offset += data_.duration[at(step)];
    }
    return uses;
  }

  void add_chain(int step) {
    plan::begin_component(problem_);
    while (true) {
      std::vector<int> rigid{step};
      const auto* lag = &data_.lags[at(lag_after_[at(step)])];
      while (lag->max == 0 && plate_of_[at(lag->to)] < 0) {
        rigid.push_back(lag->to);
        lag = &data_.lags[at(lag_after_[at(lag->to)])];
      }
      plan::Block block;
      for (int s : rigid) {
        step_block_[at(s)] = static_cast<int>(problem_.blocks.size());
        step_offset_[at(s)] = block.length;
        block.length += data_.duration[at(s)];
      }
      block.next = {lag->min, lag->max, lag->price, {}};
      plan::add_block(problem_, block, uses_of(rigid));
      step = lag->to;
      if (plate_of_[at(step)] >= 0) {
        plan::end_component(problem_, {{plate_of_[at(step)], lag->min, lag->max, lag->price}});
        return;
      }
    }
  }

  const KitchenDzn& data_;
  plan::KitchenProblem problem_;
  std::vector<int> lag_after_;
  std::vector<int> lag_before_;
  std::vector<int> plate_of_;
  std::vector<int> step_block_;
  std::vector<plan::Tick> step_offset_;
};

}  // namespace

plan::KitchenProblem kitchen_of(const KitchenDzn& data, std::vector<int>* step_block,
                                std::vector<plan::Tick>* step_offset) {
  Builder builder(data);
  plan::KitchenProblem problem = builder.build();
  if (step_block != nullptr) *step_block = builder.step_block();
  if (step_offset != nullptr) *step_offset = builder.step_offset();
  return problem;
}

}  // namespace nappe::tests
