// What the hand has open and is about to ask: the selected course, the plates that stay, the minutes not sent yet.

import { useEffect, useRef, useState } from "preact/hooks";
import { action, type Choice, fits, type Verb } from "../actions.ts";
import { courseKey } from "../layout.ts";
import type { Store } from "../store.ts";
import type { Course, PassDocument, Table } from "../wire.ts";

/** Presses of +1 and -1 are collected this long into one move. */
const nudge_ms = 900;

export interface Found {
  key: string;
  table: Table;
  id: string;
  course: Course;
}

export function find(doc: PassDocument | undefined, key: string | undefined): Found | undefined {
  for (const table of Object.values(doc?.tables ?? {})) {
    for (const [id, course] of Object.entries(table.courses)) {
      if (courseKey(table.ticket, id) === key) return { key, table, id, course };
    }
  }
  return undefined;
}

export interface Pressing {
  selected: string | undefined;
  but: number[];
  nudged: { key: string; minutes: number } | undefined;
  choose(key: string | undefined): void;
  /** Opens it, whatever was open; does not close it when it is open. */
  open(key: string): void;
  toggle(position: number): void;
  /** No plate is chosen any more. */
  clear(): void;
  act(found: Found, verb: Verb): void;
  move(found: Found, minutes: number): void;
}

export function usePressing(store: Store): Pressing {
  const [selected, setSelected] = useState<string | undefined>();
  const [but, setBut] = useState<number[]>([]);
  const [nudged, setNudged] = useState<{ key: string; minutes: number } | undefined>();

  const open = (key: string | undefined) => {
    setSelected(key);
    setBut([]);
  };
  const ask = (found: Found, verb: Verb, choice: Choice) => {
    store.press(action(verb, found.table.ticket, found.id, found.course, choice));
    if (verb === "gone" || verb === "bring_back") setBut([]);
  };
  const move = (found: Found, minutes: number) => ask(found, "later", { minutes, but: [] });

  // A ref, so that what runs late runs with what is known then.
  const settle = useRef<() => void>(() => {});
  settle.current = () => {
    const found = find(store.pass, nudged?.key);
    setNudged(undefined);
    if (found !== undefined && nudged !== undefined && nudged.minutes !== 0 && found.course.state !== "waiting") {
      move(found, nudged.minutes);
    }
  };
  useEffect(() => {
    const found = find(store.pass, nudged?.key);
    if (found === undefined || found.course.state === "waiting") return;
    const timer = window.setTimeout(() => settle.current(), nudge_ms);
    return () => window.clearTimeout(timer);
  }, [nudged, store]);
  useEffect(() => {
    const leave = () => {
      settle.current();
      store.save();
    };
    window.addEventListener("pagehide", leave);
    return () => window.removeEventListener("pagehide", leave);
  }, [store]);

  const nudge = (found: Found, by: number) => {
    if (nudged !== undefined && nudged.key !== found.key) settle.current();
    const minutes = (nudged?.key === found.key ? nudged.minutes : 0) + by;
    setNudged({ key: found.key, minutes: found.course.state === "waiting" ? Math.max(0, minutes) : minutes });
  };
  const act = (found: Found, verb: Verb) => {
    if (!fits(found.course, verb)) return;
    if (verb === "earlier" || verb === "later") return nudge(found, verb === "later" ? 1 : -1);
    const minutes = nudged?.key === found.key ? nudged.minutes : 0;
    if (verb === "fire") setNudged(undefined);
    ask(found, verb, { minutes, but: found.key === selected ? but : [] });
  };

  return {
    selected,
    but,
    nudged,
    choose: (key) => open(key === selected ? undefined : key),
    open,
    toggle: (position) =>
      setBut(
        but.includes(position) ? but.filter((other) => other !== position) : [...but, position].sort((a, b) => a - b),
      ),
    clear: () => setBut([]),
    act,
    move,
  };
}
