// The page for the pass.

import { useEffect, useLayoutEffect, useMemo, useRef, useState } from "preact/hooks";
import { action, type Choice, type Verb } from "../actions.ts";
import { bound, type Key } from "../keys.ts";
import { columns, courseKey, layOut, type Size } from "../layout.ts";
import type { Store } from "../store.ts";
import { Tide } from "../tide.ts";
import type { Action, Alert, Course, PassDocument, Table } from "../wire.ts";
import { clockText } from "../words.ts";
import { Alerts, Hands, Off, ranked, StandingList } from "./aside.tsx";
import { Hand } from "./hand.tsx";
import { Head } from "./head.tsx";
import { Help } from "./help.tsx";
import { RunIn } from "./runin.tsx";
import { Waiting } from "./waiting.tsx";

/** Presses of +1 and -1 are collected this long into one move. */
const nudge_ms = 900;
const shelve_ms = 300_000;
/** The axis above the rows. */
const axis_rem = 1.5;

interface Found {
  key: string;
  table: Table;
  id: string;
  course: Course;
}

function find(doc: PassDocument, key: string | undefined): Found | undefined {
  for (const table of Object.values(doc.tables)) {
    for (const [id, course] of Object.entries(table.courses)) {
      if (courseKey(table.ticket, id) === key) return { key, table, id, course };
    }
  }
  return undefined;
}

/** Draws anew with every change of the store, and once in every second of kitchen time. */
function useStore(store: Store): number {
  const [, redraw] = useState(0);
  useEffect(() => store.subscribe(() => redraw(store.version + Math.random())), [store]);
  useEffect(() => {
    let timer = 0;
    const beat = () => {
      store.forget();
      redraw(Math.random());
      const rest = 1000 - (store.clock.now() % 1000);
      timer = window.setTimeout(beat, Math.max(50, rest / store.clock.rate + 5));
    };
    beat();
    return () => window.clearTimeout(timer);
  }, [store]);
  return store.clock.now();
}

/** The size of an element, kept current. */
function useSize() {
  const ref = useRef<HTMLDivElement>(null);
  const [size, setSize] = useState<Size>({ width: 0, height: 0, unit: 16 });
  useLayoutEffect(() => {
    const element = ref.current;
    if (element === null) return;
    const measure = () => {
      const unit = Number.parseFloat(getComputedStyle(document.documentElement).fontSize);
      setSize({ width: element.clientWidth, height: element.clientHeight, unit });
    };
    measure();
    const watcher = new ResizeObserver(measure);
    watcher.observe(element);
    return () => watcher.disconnect();
  }, []);
  return { ref, size };
}

/** Moves the tide about ten times a second; once a second for whoever wants less motion. */
function useTide(store: Store): Tide {
  const tide = useMemo(() => new Tide(), []);
  useLayoutEffect(() => {
    tide.advance(store.clock.now());
  });
  useEffect(() => {
    const calm = matchMedia("(prefers-reduced-motion: reduce)");
    let frame = 0;
    let last = 0;
    const step = (at: number) => {
      frame = requestAnimationFrame(step);
      if (at - last < (calm.matches ? 1000 : 100)) return;
      last = at;
      tide.advance(store.clock.now());
    };
    frame = requestAnimationFrame(step);
    return () => cancelAnimationFrame(frame);
  }, [tide, store]);
  return tide;
}

/** New alerts, said once to whoever listens to the screen. */
function useAnnounced(doc: PassDocument | undefined, now_ms: number): string {
  const known = useRef(new Set<string>());
  const [text, setText] = useState("");
  const first = doc === undefined ? undefined : ranked(doc, now_ms).find(([key]) => !known.current.has(key));
  useEffect(() => {
    if (first === undefined) return;
    known.current.add(first[0]);
    setText(`${first[1].do}. ${first[1].says}.`);
  }, [first?.[0]]);
  return text;
}

export function App({ store }: { store: Store }) {
  const now_ms = useStore(store);
  const tide = useTide(store);
  const { ref, size } = useSize();
  const [selected, setSelected] = useState<string | undefined>();
  const [but, setBut] = useState<number[]>([]);
  const [help, setHelp] = useState(false);
  const [nudged, setNudged] = useState<{ key: string; minutes: number } | undefined>();
  const doc = store.pass;
  const said = useAnnounced(doc, now_ms);

  const here = doc === undefined ? undefined : find(doc, selected);
  const drawing = useMemo(
    () =>
      doc === undefined || size.width === 0
        ? undefined
        : layOut(doc, { ...size, height: size.height - axis_rem * size.unit }, selected),
    [doc, size, selected],
  );

  const asked = new Map<string, string>();
  for (const press of store.pending) {
    asked.set(
      press.about,
      `${press.what}, ${store.connection.live ? "sent" : `waits since ${clockText(press.at_ms)}`}`,
    );
  }

  const choose = (key: string | undefined) => {
    setSelected(key === selected ? undefined : key);
    setBut([]);
  };

  const ask = (found: Found, verb: Verb, choice: Choice) => {
    store.press(action(verb, found.table.ticket, found.id, found.course, choice));
    if (verb === "gone" || verb === "bring_back") setBut([]);
  };

  // --- the meet, by single minutes: collected, then asked once ---
  const settle = useRef<() => void>(() => {});
  settle.current = () => {
    setNudged(undefined);
    const found = nudged === undefined || doc === undefined ? undefined : find(doc, nudged.key);
    if (found === undefined || nudged === undefined || nudged.minutes === 0) return;
    if (found.course.state !== "waiting") ask(found, "later", { minutes: nudged.minutes, but: [] });
  };
  useEffect(() => {
    const found = nudged === undefined || doc === undefined ? undefined : find(doc, nudged.key);
    if (found === undefined || found.course.state === "waiting") return;
    const timer = window.setTimeout(() => settle.current(), nudge_ms);
    return () => window.clearTimeout(timer);
  }, [nudged]);
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
    if (!canAsk(found.course, verb)) return;
    if (verb === "earlier" || verb === "later") {
      nudge(found, verb === "later" ? 1 : -1);
      return;
    }
    const minutes = nudged?.key === found.key ? nudged.minutes : 0;
    if (verb === "fire") setNudged(undefined);
    ask(found, verb, { minutes, but: found.key === selected ? but : [] });
  };

  const toggle = (position: number) =>
    setBut(
      but.includes(position) ? but.filter((other) => other !== position) : [...but, position].sort((a, b) => a - b),
    );

  const seen = (alert: Alert) => store.press({ acknowledge: { alert: alert.alert } });
  const later = (alert: Alert) =>
    store.press({ shelve: { alert: alert.alert, until_ms: Math.round(store.clock.now()) + shelve_ms } });

  // --- keys ---
  const onKey = useRef<(event: KeyboardEvent) => void>(() => {});
  onKey.current = (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey || help || doc === undefined) return;
    const target = event.target as HTMLElement;
    if (target.matches("input, textarea, select")) return;
    const key = bound(event.key, store.single_keys);
    if (key === undefined || key === "open") return;
    const focused = target.closest<HTMLElement>("[data-key]")?.dataset["key"];
    if (press(key, find(doc, selected ?? focused), event)) event.preventDefault();
  };
  const press = (key: Key, found: Found | undefined, event: KeyboardEvent): boolean => {
    switch (key) {
      case "help":
        setHelp(true);
        return true;
      case "close":
        choose(undefined);
        return selected !== undefined;
      case "up":
      case "down":
        return step(key === "down" ? 1 : -1);
      case "seen":
      case "shelve": {
        const first = doc === undefined ? undefined : ranked(doc, now_ms).find(([, alert]) => !alert.answered)?.[1];
        if (first !== undefined) (key === "seen" ? seen : later)(first);
        return first !== undefined;
      }
      case "stays":
        if (found === undefined || found.key !== selected || found.course.plates[event.key] === undefined) return false;
        toggle(Number(event.key));
        return true;
      case "open":
        return false;
      default:
        if (found === undefined) return false;
        act(found, key);
        return true;
    }
  };
  const step = (by: number): boolean => {
    const stops = [...document.querySelectorAll<HTMLElement>("main [data-key]")];
    const at = stops.indexOf(document.activeElement as HTMLElement);
    const next = stops[at < 0 ? 0 : Math.min(stops.length - 1, Math.max(0, at + by))];
    next?.focus();
    if (selected !== undefined && next?.dataset["key"] !== undefined) {
      setSelected(next.dataset["key"]);
      setBut([]);
    }
    return next !== undefined;
  };
  useEffect(() => {
    const listen = (event: KeyboardEvent) => onKey.current(event);
    document.addEventListener("keydown", listen);
    return () => document.removeEventListener("keydown", listen);
  }, []);

  const standing_accent = doc?.colour !== undefined && doc.colour in doc.standing ? doc.colour : undefined;
  const row_accent = standing_accent === undefined ? doc?.colour : undefined;
  const refusals = (key: string) => store.refusals.filter((refusal) => refusal.about === key);
  const loose = store.refusals.filter((refusal) => refusal.about !== selected && !/^a\d+$/.test(refusal.about));
  const again = (asked_again: Action) => store.press(asked_again);

  return (
    <div class={`page ${here === undefined ? "" : "has-hand"}`}>
      <Head
        now_ms={now_ms}
        service={doc?.service.name ?? ""}
        covers={drawing?.rows.reduce((sum, row) => sum + row.course.covers, 0) ?? 0}
        cut_since_ms={store.cut_since_ms}
        waiting={store.pending.length}
        safe={store.safe}
        connecting={!store.connection.live && store.cut_since_ms === undefined}
        onHelp={() => setHelp(true)}
      />
      <main>
        <div class="runin-room" ref={ref}>
          {drawing !== undefined && doc !== undefined && (
            <RunIn
              drawing={drawing}
              doc={doc}
              tide={tide}
              gutter={columns(size).gutter}
              now_ms={now_ms}
              selected={selected}
              accent={row_accent}
              asked={asked}
              nudged={nudged}
              refusals={loose}
              onAgain={again}
              onDismiss={(refusal) => store.dismiss(refusal)}
              onSelect={choose}
              onMove={(row, minutes) => {
                const found = find(doc, row.key);
                if (found !== undefined) ask(found, "later", { minutes, but: [] });
              }}
              onGone={(row) => {
                const found = find(doc, row.key);
                if (found !== undefined) act(found, "gone");
              }}
            />
          )}
        </div>
        {doc !== undefined && <Waiting doc={doc} selected={selected} asked={asked} onSelect={choose} />}
      </main>
      {doc !== undefined && (
        <aside aria-label="The pass">
          <div class="now">
            <Alerts
              doc={doc}
              now_ms={now_ms}
              asked={asked}
              refusals={store.refusals}
              onSeen={seen}
              onLater={later}
              onDismiss={(refusal) => store.dismiss(refusal)}
            />
            <StandingList doc={doc} now_ms={now_ms} accent={standing_accent} selected={selected} onSelect={choose} />
          </div>
          {here === undefined ? (
            <div class="soon">
              <Hands doc={doc} now_ms={now_ms} />
              <Off doc={doc} />
            </div>
          ) : (
            <Hand
              table={here.table}
              course_id={here.id}
              course={here.course}
              now_ms={now_ms}
              but={but}
              minutes={nudged?.key === here.key ? nudged.minutes : 0}
              asked={asked.get(here.key)}
              refusals={refusals(here.key)}
              onVerb={(verb) => act(here, verb)}
              onToggle={toggle}
              onCourse={(id) => choose(courseKey(here.table.ticket, id))}
              onAgain={again}
              onDismiss={(refusal) => store.dismiss(refusal)}
              onClose={() => choose(undefined)}
            />
          )}
        </aside>
      )}
      <p class="unseen" aria-live="polite">
        {said}
      </p>
      {help && <Help store={store} onClose={() => setHelp(false)} />}
    </div>
  );
}

/** Only what is offered is asked by a key: a press that means nothing here does nothing. */
function canAsk(course: Course, verb: Verb): boolean {
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
