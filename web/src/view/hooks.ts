// What the page's parts share: the store, the size, the tide, the address.

import { useEffect, useLayoutEffect, useMemo, useRef, useState } from "preact/hooks";
import type { Size } from "../layout.ts";
import type { Store } from "../store.ts";
import { Tide } from "../tide.ts";
import type { PassDocument } from "../wire.ts";
import { ranked } from "./aside.tsx";

/** Draws anew with every change of the store, and once in every second of kitchen time. */
export function useStore(store: Store): number {
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
export function useSize() {
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
export function useTide(store: Store): Tide {
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

/** Two short, low tones: there is something to decide. The browser may not allow sound before the first touch. */
function sound(): void {
  try {
    const audio = new AudioContext();
    for (const [at, pitch] of [
      [0, 440],
      [0.22, 330],
    ] as const) {
      const tone = audio.createOscillator();
      const volume = audio.createGain();
      tone.frequency.value = pitch;
      volume.gain.setValueAtTime(0.2, audio.currentTime + at);
      volume.gain.exponentialRampToValueAtTime(0.001, audio.currentTime + at + 0.2);
      tone.connect(volume).connect(audio.destination);
      tone.start(audio.currentTime + at);
      tone.stop(audio.currentTime + at + 0.2);
    }
    window.setTimeout(() => void audio.close(), 1000);
  } catch {
    // No sound here: the screen says it anyway.
  }
}

/** New alerts, said once to whoever listens to the screen; with a tone where somebody asked for it. */
export function useAnnounced(doc: PassDocument | undefined, now_ms: number, aloud: boolean): string {
  const known = useRef(new Set<string>());
  const [text, setText] = useState("");
  const first = doc === undefined ? undefined : ranked(doc, now_ms).find(([key]) => !known.current.has(key));
  useEffect(() => {
    if (first === undefined) return;
    known.current.add(first[0]);
    setText(`${first[1].do}. ${first[1].says}.`);
    if (aloud) sound();
  }, [first?.[0]]);
  return text;
}

/** What the address behind the `#` asks for beside the pass and the stations' lists. */
export type Route =
  | { page: "order"; table: string | undefined }
  | { page: "table"; ticket: number }
  | { page: "counts" }
  | { page: "pass" };

export function routeOf(hash: string): Route {
  const order = /^#\/order(?:\/([\w-]+))?$/.exec(hash);
  if (order !== null) return { page: "order", table: order[1] };
  const table = /^#\/table\/(\d+)$/.exec(hash);
  if (table !== null) return { page: "table", ticket: Number(table[1]) };
  return hash === "#/counts" ? { page: "counts" } : { page: "pass" };
}

export function useRoute(): Route {
  const [hash, setHash] = useState(location.hash);
  useEffect(() => {
    const turn = () => setHash(location.hash);
    window.addEventListener("hashchange", turn);
    return () => window.removeEventListener("hashchange", turn);
  }, []);
  return routeOf(hash);
}

/** Esc goes back to the pass. */
export function useLeaving(): void {
  useEffect(() => {
    const heard = (event: KeyboardEvent) => {
      if (event.key === "Escape" && !(event.target as HTMLElement).matches("input")) location.hash = "#/";
    };
    document.addEventListener("keydown", heard);
    return () => document.removeEventListener("keydown", heard);
  }, []);
}

/** The floor's document, asked for while it is looked at. */
export function useFloor(store: Store): unknown {
  useEffect(() => {
    store.connection.want("floor");
    return () => store.connection.unwant("floor");
  }, [store]);
  return store.screen("floor");
}

/** The station named by the address (`#/station/garnish`), if any: its document is asked for while it is looked at. */
export function useStation(store: Store): string | undefined {
  const read = () => /^#\/station\/([\w-]+)$/.exec(location.hash)?.[1];
  const [station, setStation] = useState(read);
  useEffect(() => {
    const turn = () => setStation(read());
    window.addEventListener("hashchange", turn);
    return () => window.removeEventListener("hashchange", turn);
  }, []);
  useEffect(() => {
    if (station === undefined) return;
    store.connection.want(`station:${station}`);
    return () => store.connection.unwant(`station:${station}`);
  }, [station, store]);
  return station;
}
