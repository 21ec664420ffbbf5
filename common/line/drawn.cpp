// Plates and the batches they are dressed from.
#include <algorithm>
#include <set>

#include "common/kitchen/allergen.hpp"
#include "common/line/batches.hpp"

namespace nappe::line {
namespace {

// Emulsion_1 and emulsion_2 are one thing made twice.
std::string stem(const std::string& kind) {
  const auto end = kind.find_last_not_of("0123456789");
  if (end == std::string::npos || end + 1 == kind.size() || kind[end] != '_') return kind;
  return kind.substr(0, end);
}

// The things a component is drawn from, each once.
std::set<std::string> things_of(const kitchen::Component& component) {
  std::set<std::string> things{stem(component.id)};
  for (const std::string& kind : component.batches) things.insert(stem(kind));
  for (const kitchen::Layer& layer : component.layers)
    if (!layer.batch.empty()) things.insert(stem(layer.batch));
  return things;
}

bool any_meets(const std::vector<std::string>& allergies, const std::vector<std::string>& names) {
  return std::any_of(allergies.begin(), allergies.end(), [&](const std::string& allergy) {
    return std::any_of(names.begin(), names.end(),
                       [&](const std::string& name) { return kitchen::meets(allergy, name); });
  });
}

// What was made without something on purpose goes to those who need it.
bool suits(const Batch& batch, const std::vector<std::string>& allergies) {
  if (any_meets(allergies, batch.allergens)) return false;
  return batch.free_from.empty() || any_meets(allergies, batch.free_from);
}

// Of those of one thing that are fit, the one that ends first.
const Batch* pick(const Record& record, const std::string& thing, const std::vector<std::string>& allergies) {
  const Batch* best = nullptr;
  for (const auto& [id, batch] : record.batches) {
    if (stem(batch.kind) != thing || !batch.unfit().empty() || !suits(batch, allergies)) continue;
    if (best == nullptr || batch.use_by < best->use_by) best = &batch;
  }
  return best;
}

std::string why_none(const Record& record, const std::string& thing) {
  std::string why;
  for (const auto& [id, batch] : record.batches)
    if (stem(batch.kind) == thing)
      why += (why.empty() ? "" : "; ") + id + ": " +
             (batch.unfit().empty() ? "not for this plate's allergies" : batch.unfit());
  return why;
}

class Drawing {
 public:
  Drawing(const State& state, Happenings& out) : s_(state), out_(out), record_(state.record()) {}

  void run() {
    const std::size_t decided = out_.size();
    for (std::size_t i = 0; i < decided; ++i) {
      const Happening happening = out_[i];
      if (const auto* plated = std::get_if<PortionPlated>(&happening)) plate(plated->pan, plated->plate);
      if (const auto* ended = std::get_if<StepEnded>(&happening)) finish(*ended);
      if (const auto* reopened = std::get_if<StepReopened>(&happening)) take_back(*reopened);
    }
  }

 private:
  void plate(PanId id, const PlateKey& key) {
    const Pan* pan = s_.find_pan(id);
    const Portion* portion = pan == nullptr ? nullptr : pan->portion_of(key);
    if (portion == nullptr || portion->plated || !seen_.insert({id, key}).second) return;
    draw(*pan, key);
  }

  void finish(const StepEnded& ended) {
    const Pan* pan = s_.find_pan(ended.pan);
    if (pan == nullptr || s_.component_of(*pan).steps.back().id != ended.step) return;
    for (const Portion& portion : pan->portions) plate(pan->id, portion.plate);
  }

  void draw(const Pan& pan, const PlateKey& key) {
    const Ticket* ticket = s_.find_ticket(key.ticket);
    const Plate* dressed = s_.find_plate(key);
    if (ticket == nullptr || dressed == nullptr) return;
    const kitchen::Component& component = s_.component_of(pan);
    bool known = false;
    bool drew = false;
    std::string why;
    for (const std::string& thing : things_of(component)) {
      const std::string none = why_none(record_, thing);
      if (const Batch* batch = pick(record_, thing, pan.allergies)) {
        add(BatchDrawn{batch->id, key, ticket->table, dressed->wanted.dish, component.id});
        drew = true;
      } else if (!none.empty()) {
        why += (why.empty() ? "" : "; ") + none;
      }
      known = known || !none.empty();
    }
    if (known && !drew) add(DrawnUntraced{key, ticket->table, dressed->wanted.dish, component.id, why});
  }

  // As the press is taken back, so is what it drew.
  void take_back(const StepReopened& reopened) {
    const Pan* pan = s_.find_pan(reopened.pan);
    if (pan == nullptr || !pan->finished) return;
    const Record before = record_;
    for (const Portion& portion : pan->portions) {
      if (portion.plated != pan->finished) continue;
      for (const auto& [id, batch] : before.batches)
        if (std::find(batch.drawn.begin(), batch.drawn.end(), Drawn{portion.plate, pan->component}) !=
            batch.drawn.end())
          add(BatchReturned{id, portion.plate, pan->component});
    }
  }

  void add(const Happening& happening) {
    out_.push_back(happening);
    apply_record(record_, happening, s_.now);
  }

  const State& s_;
  Happenings& out_;
  Record record_;  // as it will be, so that the last portion is drawn once
  std::set<std::pair<PanId, PlateKey>> seen_;
};

}  // namespace

bool feeds(const kitchen::Component& component, const std::string& kind) {
  return things_of(component).count(stem(kind)) != 0;
}

void add_drawn(const State& state, Happenings& out) {
  if (state.record().batches.empty()) return;
  Drawing(state, out).run();
}

std::optional<int> portions_unpromised(const State& state, const std::string& component) {
  const kitchen::Component* known = state.kitchen->find_component(component);
  if (known == nullptr) return {};
  std::optional<int> least;
  for (const std::string& thing : things_of(*known)) {
    bool counted = false;
    int left = 0;
    bool uncounted = false;
    for (const auto& [id, batch] : state.record().batches) {
      if (stem(batch.kind) != thing || !batch.free_from.empty()) continue;  // the latter for a few guests only
      counted = counted || batch.portions.has_value();
      if (!batch.unfit().empty()) continue;
      uncounted = uncounted || !batch.portions;
      left += batch.portions.value_or(0);
    }
    if (counted && !uncounted) least = std::min(least.value_or(left), left);
  }
  if (!least) return {};
  int promised = 0;
  for (const auto& [id, pan] : state.pans) {
    if (pan.component != component) continue;
    promised += static_cast<int>(
        std::count_if(pan.portions.begin(), pan.portions.end(), [](const Portion& one) { return !one.plated; }));
  }
  return *least - promised;
}

std::vector<Remake> remakes(const State& state) {
  std::vector<Remake> out;
  if (state.service == ServiceState::closed) return out;
  for (const auto& [id, batch] : state.record().batches) {
    if (!batch.there() || batch.past || !batch.life || !batch.takes) continue;
    const bool followed =
        std::any_of(state.record().batches.begin(), state.record().batches.end(), [&](const auto& entry) {
          const Batch& other = entry.second;
          return other.there() && stem(other.kind) == stem(batch.kind) && other.use_by > batch.use_by;
        });
    if (!followed) out.push_back({&batch, batch.use_by - *batch.takes, *batch.takes});
  }
  return out;
}

std::vector<RecordDue> watch_record(const State& state) {
  std::vector<RecordDue> due;
  for (const auto& [id, batch] : state.record().batches) {
    if (!batch.there()) continue;
    if (!batch.past) due.push_back({batch.use_by, BatchPast{id, to_ms(batch.use_by), batch.ends}});
    if (const auto expires = cut_expires(state.record(), batch, state.now)) {
      const Instant at = std::max(*expires, state.now);
      Happenings judged;
      add_cut(state.record(), batch, at, false, judged);
      for (Happening& what : judged) due.push_back({at, std::move(what)});
    }
    if (!batch.cooling() || !batch.chilling->due) continue;
    const Instant at = std::max(*batch.chilling->due, state.now);
    const auto judged = judge_chill(state.record(), batch, at);
    if (judged && judged->verdict != batch.chilling->verdict) due.push_back({at, *judged});
  }
  std::stable_sort(due.begin(), due.end(), [](const RecordDue& a, const RecordDue& b) { return a.at < b.at; });
  return due;
}

}  // namespace nappe::line
