// The page by keys alone. What they do stands in keys.ts.

import { useEffect, useRef } from "preact/hooks";
import { bound, type Key } from "../keys.ts";
import type { Store } from "../store.ts";
import type { Alert } from "../wire.ts";
import { ranked } from "./aside.tsx";
import { type Found, find, type Pressing } from "./pressing.ts";

export interface Answers {
  help(): void;
  seen(alert: Alert): void;
  later(alert: Alert): void;
}

/** The table before or after the one in focus; what is open follows. */
function step(pressing: Pressing, by: number): boolean {
  const stops = [...document.querySelectorAll<HTMLElement>("main [data-key]")];
  const at = stops.indexOf(document.activeElement as HTMLElement);
  const next = stops[at < 0 ? 0 : Math.min(stops.length - 1, Math.max(0, at + by))];
  next?.focus();
  const key = next?.dataset["key"];
  if (pressing.selected !== undefined && key !== undefined) pressing.open(key);
  return next !== undefined;
}

function answerFirst(store: Store, answer: (alert: Alert) => void): boolean {
  if (store.pass === undefined) return false;
  const first = ranked(store.pass, store.clock.now()).find(([, alert]) => !alert.answered)?.[1];
  if (first !== undefined) answer(first);
  return first !== undefined;
}

/** Does what the key says; false when it means nothing here. */
function obey(
  key: Key,
  digit: number,
  found: Found | undefined,
  store: Store,
  pressing: Pressing,
  answers: Answers,
): boolean {
  switch (key) {
    case "help":
      answers.help();
      return true;
    case "close":
      if (pressing.selected === undefined) return false;
      pressing.choose(undefined);
      return true;
    case "up":
    case "down":
      return step(pressing, key === "down" ? 1 : -1);
    case "seen":
      return answerFirst(store, answers.seen);
    case "shelve":
      return answerFirst(store, answers.later);
    case "stays":
      if (found === undefined || found.key !== pressing.selected || found.course.plates[digit] === undefined)
        return false;
      pressing.toggle(digit);
      return true;
    case "order":
      location.hash = "#/order";
      return true;
    case "counts":
      location.hash = "#/counts";
      return true;
    case "table":
      if (found === undefined) return false;
      location.hash = `#/table/${found.table.ticket}`;
      return true;
    case "up_table":
      if (found === undefined) return false;
      store.press(
        found.table.pause === undefined
          ? { table_up: { ticket: found.table.ticket } }
          : { table_back: { ticket: found.table.ticket } },
      );
      return true;
    case "slower":
    case "faster":
      if (found === undefined) return false;
      store.press({ pace: { ticket: found.table.ticket, minutes: key === "slower" ? 5 : -5 } });
      return true;
    case "open":
      return false; // a button does that by itself
    default:
      if (found === undefined) return false;
      pressing.act(found, key);
      return true;
  }
}

export function useKeys(store: Store, pressing: Pressing, answers: Answers, off: boolean): void {
  const listen = useRef<(event: KeyboardEvent) => void>(() => {});
  listen.current = (event) => {
    const target = event.target as HTMLElement;
    if (off || event.ctrlKey || event.metaKey || event.altKey || target.matches("input, textarea, select")) return;
    const key = bound(event.key, store.single_keys);
    if (key === undefined) return;
    const focused = target.closest<HTMLElement>("[data-key]")?.dataset["key"];
    const found = find(store.pass, pressing.selected ?? focused);
    if (obey(key, Number(event.key), found, store, pressing, answers)) event.preventDefault();
  };
  useEffect(() => {
    const heard = (event: KeyboardEvent) => listen.current(event);
    document.addEventListener("keydown", heard);
    return () => document.removeEventListener("keydown", heard);
  }, []);
}
