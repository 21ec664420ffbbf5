// Questions to the server that change nothing, asked beside the socket: what somebody can have, what sending would mean.

import { useEffect, useState } from "preact/hooks";
import type { Keyed, Order } from "./wire.ts";
import { clockText } from "./words.ts";

const fetched = (path: string, options?: RequestInit) =>
  fetch(new URL(path, document.baseURI), { cache: "no-store", ...options });

export interface Card {
  says: string;
  dishes: Keyed<{ answer: "yes" | "with_changes" | "no"; says: string }>;
}

const cards = new Map<string, Card>();

/** What a guest with these allergies can have; undefined while it is not known (asked, or the link is away). */
export function useCard(allergies: string[], version: string): Card | undefined {
  const key = `${version} ${[...allergies].sort().join(",")}`;
  const [, redraw] = useState(0);
  useEffect(() => {
    if (allergies.length === 0 || cards.has(key)) return;
    let wanted = true;
    fetched(`card?without=${encodeURIComponent([...allergies].sort().join(","))}`)
      .then(async (answer) => {
        if (!answer.ok) return;
        cards.set(key, (await answer.json()) as Card);
        if (wanted) redraw(Math.random());
      })
      .catch(() => {});
    return () => {
      wanted = false;
    };
  }, [key]);
  return cards.get(key);
}

interface Load {
  name: string;
  from_ms: number;
  before: number;
  after: number;
  full: boolean;
}

export interface Drafted {
  /** Why it could not be sent; undefined: it could. */
  problem: string | undefined;
  course: string;
  word_ms: number | undefined;
  /** Why it is not sooner, when the house lets it wait. */
  why: string | undefined;
  load: Load[];
}

const typing_ms = 400;

/** What sending this order now would mean. Asked when the hand rests, and again when `stamp` says that something changed. */
export function useDrafted(order: Order | undefined, stamp: string): Drafted | undefined {
  const text = order === undefined ? "" : JSON.stringify({ order });
  const [said, setSaid] = useState<{ text: string; drafted: Drafted } | undefined>();
  useEffect(() => {
    if (text === "") return;
    let wanted = true;
    const timer = window.setTimeout(async () => {
      try {
        const answer = await fetched("draft", {
          method: "POST",
          headers: { "Content-Type": "application/json" },
          body: text,
        });
        const body = await answer.json();
        if (!wanted) return;
        const drafted: Drafted = {
          problem: answer.ok ? undefined : String(body.detail ?? answer.status),
          course: String(body.course ?? ""),
          word_ms: typeof body.word_ms === "number" ? body.word_ms : undefined,
          why: typeof body.why === "string" ? body.why : undefined,
          load: Object.values((body.load ?? {}) as Keyed<Load>),
        };
        setSaid({ text, drafted });
      } catch {
        // The link is away: nothing is known of when.
      }
    }, typing_ms);
    return () => {
      wanted = false;
      window.clearTimeout(timer);
    };
  }, [text, stamp]);
  return said !== undefined && said.text === text ? said.drafted : undefined;
}

/** "garnish 20:15 to 20:20 rises 41 to 61 %" */
export function loadWords(load: Load): string {
  const percent = (share: number) => Math.round(share * 100);
  return `${load.name} ${clockText(load.from_ms)} to ${clockText(load.from_ms + 300_000)} rises ${percent(load.before)} to ${percent(load.after)} %`;
}
