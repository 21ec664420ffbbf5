// Keys of the page: one table for what they do and for the help that says so.

export type Key =
  | "up"
  | "down"
  | "open"
  | "close"
  | "fire"
  | "hold"
  | "release"
  | "gone"
  | "bring_back"
  | "earlier"
  | "later"
  | "stays"
  | "seen"
  | "shelve"
  | "up_table"
  | "slower"
  | "faster"
  | "order"
  | "table"
  | "counts"
  | "help";

interface Binding {
  keys: string[];
  does: Key;
  shown: string;
  help: string;
  /** One letter or sign: can be switched off (WCAG 2.1.4). */
  single: boolean;
}

export const bindings: Binding[] = [
  { keys: ["ArrowUp"], does: "up", shown: "↑ ↓", help: "the table before, the table after", single: false },
  { keys: ["ArrowDown"], does: "down", shown: "", help: "", single: false },
  { keys: ["Enter", " "], does: "open", shown: "Enter", help: "open the table, or close it", single: false },
  { keys: ["Escape"], does: "close", shown: "Esc", help: "close what is open", single: false },
  { keys: ["g", "G"], does: "gone", shown: "g", help: "gone: the table left the pass", single: true },
  { keys: ["+", "=", "ArrowRight"], does: "later", shown: "+ or →", help: "the meet a minute later", single: true },
  { keys: ["-", "_", "ArrowLeft"], does: "earlier", shown: "− or ←", help: "the meet a minute earlier", single: true },
  { keys: ["f", "F"], does: "fire", shown: "f", help: "fire a course that waits", single: true },
  { keys: ["h", "H"], does: "hold", shown: "h", help: "hold", single: true },
  { keys: ["r", "R"], does: "release", shown: "r", help: "release a held course", single: true },
  { keys: ["b", "B"], does: "bring_back", shown: "b", help: "bring back what was marked gone", single: true },
  { keys: [..."123456789"], does: "stays", shown: "1 – 9", help: "this position stays; again: it goes", single: true },
  { keys: ["s", "S"], does: "seen", shown: "s", help: "the first alert is seen", single: true },
  { keys: ["l", "L"], does: "shelve", shown: "l", help: "the first alert comes back in five minutes", single: true },
  { keys: ["u", "U"], does: "up_table", shown: "u", help: "table up; again: it sits", single: true },
  { keys: [">", "."], does: "slower", shown: ">", help: "the table wants to go slower, 5 min", single: true },
  { keys: ["<", ","], does: "faster", shown: "<", help: "the table wants to go faster, 5 min", single: true },
  { keys: ["o", "O"], does: "order", shown: "o", help: "take an order", single: true },
  { keys: ["t", "T"], does: "table", shown: "t", help: "seats, another table, together, split, cancel", single: true },
  { keys: ["n", "N"], does: "counts", shown: "n", help: "what is left; off", single: true },
  { keys: ["?"], does: "help", shown: "?", help: "this page", single: true },
];

export function bound(key: string, singles: boolean): Key | undefined {
  const found = bindings.find((binding) => binding.keys.includes(key));
  return found === undefined || (found.single && !singles && key.length === 1) ? undefined : found.does;
}
