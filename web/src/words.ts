// Times in the kitchen's words. Whole minutes everywhere; seconds only where plates stand.

const minute = 60_000;

let house_minutes: number | undefined;

/** The page shows the house's time, whatever the device believes; until the house has said it, the device's. */
export function keepHouseTime(utc_offset_minutes: number | undefined): void {
  house_minutes = utc_offset_minutes;
}

/** The instant with the house's hours and minutes in its UTC fields. */
function atHouse(ms: number): Date {
  return new Date(ms + (house_minutes ?? -new Date(ms).getTimezoneOffset()) * minute);
}

export function clockText(ms: number): string {
  const at = atHouse(ms);
  return `${String(at.getUTCHours()).padStart(2, "0")}:${String(at.getUTCMinutes()).padStart(2, "0")}`;
}

export function secondsText(ms: number): string {
  return String(atHouse(ms).getUTCSeconds()).padStart(2, "0");
}

/** The word as one says it: "7 min". Rounded up, for a word is kept. */
export function wordText(word_ms: number, now: number): string {
  const left = Math.ceil((word_ms - now) / minute);
  return left >= 1 ? `word ${left} min` : `word was ${clockText(word_ms)}`;
}

/** How far from the pass in whole minutes: "in 6 min", "now", "2 min over". */
export function awayText(meet_ms: number, now: number): string {
  const left = (meet_ms - now) / minute;
  if (left >= 1) return `in ${Math.floor(left)} min`;
  if (left > -1) return "now";
  return `${Math.floor(-left)} min over`;
}

/** A length in whole minutes, at least one: "2 min". */
export function minutesText(ms: number): string {
  return `${Math.max(1, Math.round(ms / minute))} min`;
}

/** Give as a cook reads it: "0:40", "12:05"; "now" when there is none. */
export function giveText(ms: number): string {
  const seconds = Math.floor(ms / 1000);
  if (seconds <= 0) return "now";
  return `${Math.floor(seconds / 60)}:${String(seconds % 60).padStart(2, "0")}`;
}

/** Seconds while they are few, minutes after: "55 s", "3 min", "12 s past". Only for standing plates. */
export function leftText(ms: number): { count: number; unit: string } {
  const seconds = Math.floor(ms / 1000);
  if (Math.abs(seconds) >= 180)
    return { count: Math.floor(Math.abs(seconds) / 60), unit: seconds < 0 ? "min past" : "min" };
  return { count: Math.abs(seconds), unit: seconds < 0 ? "s past" : "s" };
}

export function list(words: (string | number)[]): string {
  if (words.length < 2) return words.join("");
  return `${words.slice(0, -1).join(", ")} and ${words[words.length - 1]}`;
}

export function plural(count: number, one: string, many: string): string {
  return `${count} ${count === 1 ? one : many}`;
}

/** What a dish or component is called across a kitchen: its full name up to the first comma. */
export function brief(name: string): string {
  return name.split(",", 1)[0] ?? name;
}
