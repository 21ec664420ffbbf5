#include "tests/wire/evening.hpp"

namespace nappe::tests {

using namespace line;

namespace {

Wanted plate(int position, const std::string& dish, const std::string& change = {}, std::vector<std::string> off = {}) {
  return {position, dish, std::move(off), change};
}

PanId pan_of(const State& state, TicketId ticket, const std::string& component) {
  for (const auto& [id, pan] : state.pans) {
    if (pan.component == component && pan.portions.front().plate.ticket == ticket) return id;
  }
  return PanId{};
}

// Table 8: starters gone a minute ago; mains half there. Its loin rests, the turnips stand, one plate has no turnips.
void table_8(State& state) {
  Order order{"8",
              {},
              {{"starters", {plate(1, "mackerel"), plate(2, "mackerel")}},
               {"mains", {plate(1, "hogget"), plate(2, "hogget", "sauce beside", {"turnips"})}}},
              "birthday"};
  const TicketId ticket = send(state, at(-2700), order);
  fire(state, at(-600), ticket, "starters", at(-90));
  const PanId mackerel = pan_of(state, ticket, "mackerel");
  cook_until(state, mackerel, "dress", 0, at(-220));
  happen(state, at(-90), {StepEnded{mackerel, "dress", 0, to_ms(at(-90)), false}});
  happen(state, at(-60),
         {PlateGone{{ticket, "starters", 1}, to_ms(at(-60))}, PlateGone{{ticket, "starters", 2}, to_ms(at(-60))},
          CourseGone{ticket, "starters", to_ms(at(-60)), 18000, 30000}});
  fire(state, at(-1200), ticket, "mains", at(380));
  cook_until(state, pan_of(state, ticket, "loin"), "rest", 0, at(-500));
  const PanId turnips = pan_of(state, ticket, "turnips");
  cook_until(state, turnips, "plate", 0, at(-30));
  happen(state, at(-18), {StepEnded{turnips, "plate", 0, to_ms(at(-18)), false}});
}

// Tables 10 and 12: one pan of emmer for both, at its sixth ladle; the mackerel waits. Position 3 of table 10 has mains
// without milk still to come.
void tables_10_and_12(State& state) {
  Order ten{"10",
            {{3, {"milk"}}},
            {{"starters", {plate(1, "emmer"), plate(2, "emmer"), plate(4, "mackerel")}},
             {"mains", {plate(1, "hogget"), plate(3, "hogget")}}},
            ""};
  Order twelve{"12", {}, {{"starters", {plate(1, "emmer"), plate(2, "mackerel")}}}, ""};
  const TicketId first = send(state, at(-1500), ten);
  const TicketId second = send(state, at(-1400), twelve);
  fire(state, at(-900), first, "starters", at(500));
  fire(state, at(-900), second, "starters", at(500));
  const PanId into = pan_of(state, first, "emmer");
  const PanId from = pan_of(state, second, "emmer");
  happen(state, at(-890),
         {PortionsMoved{from, into, {{second, "starters", 1}}}, PanDropped{from, "cooked in one pan"}});
  cook_until(state, into, "absorb", 6, at(-40));
}

// Table 6: no milk at position 2; its emmer not begun. Table 3: held.
void tables_6_and_3(State& state) {
  Order six{"6", {{2, {"milk"}}}, {{"starters", {plate(1, "mackerel"), plate(2, "emmer")}}}, ""};
  const TicketId ticket = send(state, at(-800), six);
  fire(state, at(-300), ticket, "starters", at(800));
  Order three{"3", {}, {{"starters", {plate(1, "emmer"), plate(2, "emmer")}}}, ""};
  const TicketId held = send(state, at(-700), three);
  fire(state, at(-200), held, "starters", at(900));
  happen(state, at(-100), {CourseHeld{held, "starters"}});
}

}  // namespace

State evening() {
  State state = open_service();
  table_8(state);
  tables_10_and_12(state);
  tables_6_and_3(state);
  happen(state, at(-5), {LeftSet{"hogget", 3}, HandsSet{"garnish", "tom", false}});
  const PanId loin = pan_of(state, TicketId{1}, "loin");
  happen(state, at(-2),
         {AlertRaised{AlertId{1}, AlertKind::keep_low, "", PanId{3}, "", 0, {}, to_ms(at(-2))},
          AlertRaised{AlertId{2}, AlertKind::rest_over, "sauce", loin, "rest", 0, {}, to_ms(at(-40))},
          AlertEscalated{AlertId{2}}, Pressed{"garnish", pan_of(state, TicketId{2}, "emmer"), "ladle", 6, false}});
  return state;
}

plan::Plan evening_plan(const State& state) {
  plan::Plan plan = plain_plan(state, at(0));
  plan::StationPlan& garnish = plan.stations["garnish"];
  garnish.behind = seconds(50);
  garnish.behind_from = at(440);
  garnish.hurts_table = "3";
  const std::int64_t slot = to_ms(at(0)) / 300000 * 300000;
  garnish.load = {{slot - 300000, 0.5}, {slot, 0.612}, {slot + 300000, 0.9}, {slot + 3900000, 1.0}};
  return plan;
}

}  // namespace nappe::tests
