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

/** The course key, or "a<alert>", that a press was about. */
export function subject(asked: Action): string {
  const [body] = Object.values(asked) as { ticket?: number; course?: string; alert?: number }[];
  return body?.alert !== undefined ? `a${body.alert}` : `${body?.ticket}-${body?.course}`;
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
  if ("acknowledge" in asked) return "seen";
  if ("shelve" in asked) return `later, ${clockText(asked.shelve.until_ms)}`;
  return asked satisfies never;
}

/**
 * The same press said twice, when the server refused it by the kitchen's rules and it can be insisted on; nothing when it
 * cannot. A conflict (another hand was first) is never insisted on.
 */
export function insisted(command: Command, problem: Problem): Action | undefined {
  if (problem.code !== "refused" || !("gone" in command.do) || command.do.gone.sure === true) return undefined;
  return { gone: { ...command.do.gone, sure: true } };
}
