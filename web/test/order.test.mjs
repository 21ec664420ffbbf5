import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";
import {
  allergenTyped,
  counted,
  dishTyped,
  draftOf,
  empty,
  give,
  openTickets,
  orderOf,
  tableTyped,
  toggleAllergy,
  toggleLeftOff,
} from "../node_modules/.nappe-test/order.js";

const floor = JSON.parse(readFileSync(new URL("../../tests/protocol/examples/floor.json", import.meta.url), "utf8"));
const plate = (position, dish, left_off = [], change = "") => ({ position, dish, left_off, change });

test("a change sends only what differs: another dish, a plate more, a plate taken away, what was left off", () => {
  const ticket = floor.tickets["7"];
  const draft = draftOf(ticket);
  assert.deepEqual(orderOf(draft, floor, ticket), { table: "8", guests: [], courses: [], note: "" });
  const other = give({ ...draft, position: 4 }, "mains", "pollack");
  assert.deepEqual(orderOf(other, floor, ticket).courses, [{ course: "mains", plates: [plate(4, "pollack")] }]);
  const more = give({ ...draft, position: 2 }, "starters", "leek");
  assert.deepEqual(orderOf(more, floor, ticket).courses, [{ course: "starters", plates: [plate(2, "leek")] }]);
  const less = give({ ...draft, position: 1 }, "desserts", "pudding");
  assert.deepEqual(orderOf(less, floor, ticket).courses, [{ course: "desserts", plates: [plate(1, "")] }]);
  const crumb = toggleLeftOff({ ...draft, position: 4 }, "desserts", "crumb");
  assert.deepEqual(orderOf(crumb, floor, ticket).courses, [{ course: "desserts", plates: [plate(4, "pear")] }]);
});

test("an allergy told before is not told again, and a new one is told alone", () => {
  const ticket = floor.tickets["7"];
  const draft = toggleAllergy({ ...draftOf(ticket), position: 4 }, "milk");
  assert.deepEqual(orderOf(draft, floor, ticket).guests, [{ position: 4, allergies: ["milk"] }]);
});

test("24: what a change takes of a dish is counted beyond what its ticket has been promised", () => {
  const ticket = floor.tickets["7"];
  const draft = draftOf(ticket);
  assert.equal(counted(draft, "hogget", ticket), 0);
  assert.equal(counted(give({ ...draft, position: 2 }, "mains", "hogget"), "hogget", ticket), 1);
  assert.equal(counted(give({ ...draft, position: 4 }, "mains", "pollack"), "hogget", ticket), -1);
});

test("the latest ticket of a table that has not gone is the one that is changed", () => {
  assert.deepEqual(
    openTickets(floor, "8").map((one) => one.ticket),
    [7],
  );
  assert.deepEqual(openTickets(floor, "7"), []);
});

test("digits mean a table as soon as only one begins so; a letter means a dish of the first course without a plate", () => {
  const tables = { 1: 0, 2: 0, 10: 0, 12: 0 };
  assert.equal(tableTyped(tables, "2", false), "2");
  assert.equal(tableTyped(tables, "1", false), undefined);
  assert.equal(tableTyped(tables, "1", true), "1");
  assert.equal(tableTyped(tables, "12", false), "12");
  assert.equal(tableTyped(tables, "7", true), undefined);
  assert.deepEqual(dishTyped(empty, floor, "e"), ["starters", "emmer"]);
  assert.equal(dishTyped(empty, floor, "x"), undefined);
  assert.equal(allergenTyped("g"), "gluten");
  assert.equal(allergenTyped("m"), undefined);
  assert.equal(allergenTyped("mi"), "milk");
});
