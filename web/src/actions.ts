// What the hand at the pass may ask of a course, and the words for it. The server decides; this only offers.

import type { Action, Command, Course, Problem } from "./wire.ts";
import { clockText, list } from "./words.ts";

export type Verb = "fire" | "hold" | "release" | "earlier" | "later" | "gone" | "bring_back";

/** What is offered for a course in this state, the usual thing first. */
export function offered(course: Course): Verb[] {
  switch (course.state) {
    case "waiting":
      return ["fire", "earlier", "later"];
    case "fired":
      return ["gone", "earlier", "later", "hold"];
    case "held":
      return ["release", "earlier", "later"];
    case "gone":
      return ["bring_back"];
    default:
      return course.state satisfies never;
  }
}

/** Only what is offered is asked by a key: a press that means nothing here does nothing. */
export function fits(course: Course, verb: Verb): boolean {
  switch (verb) {
    case "fire":
      return course.state === "waiting";
    case "hold":
      return course.state === "fired";
    case "release":
      return course.state === "held";
    case "gone":
      return course.state === "fired" || course.state === "held";
    case "bring_back":
      return course.state === "gone";
    case "earlier":
    case "later":
      return course.state !== "gone";
    default:
      return verb satisfies never;
  }
}

export const labels: { [verb in Verb]: string } = {
  fire: "fire",
  hold: "hold",
  release: "release",
  earlier: "−1 min",
  later: "+1 min",
  gone: "gone",
  bring_back: "bring back",
};

/** Positions that can still leave the pass. */
export function positions(course: Course): number[] {
  return Object.keys(course.plates)
    .map(Number)
    .sort((a, b) => a - b);
}

export interface Choice {
  /** Minutes the meet is asked to move, or to fire later than it could. */
  minutes: number;
  /** Positions that stay. */
  but: number[];
}

/** The action of a verb on a course. Moves go by whole minutes from what is promised. */
export function action(verb: Verb, ticket: number, id: string, course: Course, choice: Choice): Action {
  const at = { ticket, course: id };
  const shifted = (from: number) => from + choice.minutes * 60_000;
  switch (verb) {
    case "fire":
      return course.could_ms !== undefined && choice.minutes > 0
        ? { fire: { ...at, meet_ms: shifted(course.could_ms) } }
        : { fire: at };
    case "hold":
      return { hold: at };
    case "release":
      return { release: at };
    case "earlier":
    case "later":
      return { move_meet: { ...at, meet_ms: shifted(course.meet_ms ?? course.expected_ms ?? 0) } };
    case "gone":
      return { gone: choice.but.length > 0 ? { ...at, but: choice.but } : at };
    case "bring_back": {
      const back = positions(course).filter((position) => !choice.but.includes(position));
      return { bring_back: choice.but.length > 0 ? { ...at, positions: back } : at };
    }
    default:
      return verb satisfies never;
  }
}

/** The course key, "a<alert>", "t<ticket>" or "order", that a press was about. */
export function subject(asked: Action): string {
  const [body] = Object.values(asked) as { ticket?: number; course?: string; alert?: number }[];
  if ("send_ticket" in asked || "change_ticket" in asked) return "order";
  if ("set_left" in asked) return "counts";
  if (body?.alert !== undefined) return `a${body.alert}`;
  return body?.course === undefined ? `t${body?.ticket}` : `${body.ticket}-${body.course}`;
}

/** Why a plate is cooked again, in the words the pass calls them. */
export const reasons = ["too pink", "cold", "wrong", "hair", "dropped"];

/** A plate cooked again, with another table's portion where `borrowing`. `components` empty: all of it. */
export function cookAgain(
  at: { ticket: number; course: string; position: number },
  reason: string,
  borrowing: boolean,
  components: string[],
): Action {
  const body = components.length > 0 ? { ...at, reason, components } : { ...at, reason };
  return borrowing ? { borrow: body } : { refire: body };
}

/** A press in words: "gone, all but 3", "meet 20:33". */
export function said(asked: Action): string {
  if ("fire" in asked) return asked.fire.meet_ms === undefined ? "fire" : `fire for ${clockText(asked.fire.meet_ms)}`;
  if ("hold" in asked) return "hold";
  if ("release" in asked) return "release";
  if ("move_meet" in asked) return `meet ${clockText(asked.move_meet.meet_ms)}`;
  if ("gone" in asked) return asked.gone.but?.length ? `gone, all but ${list(asked.gone.but)}` : "gone";
  if ("bring_back" in asked) {
    return asked.bring_back.positions?.length ? `bring back ${list(asked.bring_back.positions)}` : "bring back";
  }
  if ("send_ticket" in asked) return `table ${asked.send_ticket.order.table} ordered`;
  if ("change_ticket" in asked) return `table ${asked.change_ticket.order.table} changed`;
  if ("cancel_ticket" in asked) return `ticket ${asked.cancel_ticket.ticket} cancelled`;
  if ("move_positions" in asked)
    return list(asked.move_positions.moves.map((move) => `position ${move.from} to ${move.to}`));
  if ("move_table" in asked) return `to table ${asked.move_table.table}`;
  if ("split_table" in asked) return `position ${list(asked.split_table.positions)} on a ticket of their own`;
  if ("merge_tables" in asked) return `ticket ${asked.merge_tables.ticket} to ticket ${asked.merge_tables.into}`;
  if ("set_left" in asked) {
    const { dish, left } = asked.set_left;
    return left === undefined ? `${dish}: no count` : left === 0 ? `${dish} off` : `${dish}: ${left} left`;
  }
  if ("tell_allergy" in asked) return `position ${asked.tell_allergy.position}: ${list(asked.tell_allergy.allergies)}`;
  if ("clear_plate" in asked) return `position ${asked.clear_plate.position} cleared`;
  if ("refire" in asked) return `position ${asked.refire.position} again: ${asked.refire.reason}`;
  if ("borrow" in asked) return `position ${asked.borrow.position} borrows: ${asked.borrow.reason}`;
  if ("speech" in asked) return `speech, ${asked.speech.minutes} min`;
  if ("table_up" in asked) return "table up";
  if ("table_back" in asked) return "sits again";
  if ("pace" in asked) return `${Math.abs(asked.pace.minutes)} min ${asked.pace.minutes > 0 ? "slower" : "faster"}`;
  if ("acknowledge" in asked) return "seen";
  if ("shelve" in asked) return `later, ${clockText(asked.shelve.until_ms)}`;
  return asked satisfies never;
}

/** What a refusal says that can be insisted on, in every such sentence of the line. */
const can_insist = /say it again/;

/**
 * The same press said twice, when the server refused it by the kitchen's rules and it can be insisted on; nothing when it
 * cannot. A conflict (another hand was first) is never insisted on.
 */
export function insisted(command: Command, problem: Problem): Action | undefined {
  if (problem.code !== "refused" || !can_insist.test(problem.detail)) return undefined;
  const asked = command.do;
  if ("gone" in asked && asked.gone.sure !== true) return { gone: { ...asked.gone, sure: true } };
  if ("fire" in asked && asked.fire.sure !== true) return { fire: { ...asked.fire, sure: true } };
  if ("move_meet" in asked && asked.move_meet.sure !== true) return { move_meet: { ...asked.move_meet, sure: true } };
  if ("send_ticket" in asked && asked.send_ticket.sure !== true)
    return { send_ticket: { ...asked.send_ticket, sure: true } };
  if ("change_ticket" in asked && asked.change_ticket.sure !== true)
    return { change_ticket: { ...asked.change_ticket, sure: true } };
  return undefined;
}

/** The button that says it twice. */
export function insistLabel(again: Action): string {
  if ("fire" in again) return "fire all the same";
  if ("move_meet" in again) return "move it all the same";
  if ("send_ticket" in again) return "the same again";
  if ("change_ticket" in again) return "change all the same";
  return "gone all the same";
}
