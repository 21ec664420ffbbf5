#include "common/wire/command_schema.hpp"

#include <boost/mp11/algorithm.hpp>

#include "common/wire/codec.hpp"
#include "common/wire/describe.hpp"

namespace nappe::wire {

std::string action_schema() {
  nlohmann::json actions = nlohmann::json::object();
  boost::mp11::mp_for_each<boost::mp11::mp_iota_c<std::variant_size_v<line::Action>>>([&](auto index) {
    using Action = std::variant_alternative_t<index, line::Action>;
    actions[action_names()[index]] = described_schema<Action>();
  });
  const nlohmann::json schema = {{"type", "object"},
                                 {"description", "Exactly one action; the member's name says which."},
                                 {"minProperties", 1},
                                 {"maxProperties", 1},
                                 {"properties", std::move(actions)},
                                 {"additionalProperties", false}};
  return schema.dump();
}

}  // namespace nappe::wire
