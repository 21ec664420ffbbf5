// A ticket's whole story, out of the record: what happened, in the kitchen's words and order.

import { clockText, list } from "./words.ts";

/** An event as GET /events gives it. */
export interface Recorded {
  seq: number;
  at_ms: number;
  name: string;
  body: Record<string, unknown>;
}

interface PlateKey {
  ticket: number;
  course: string;
  position: number;
}

function plateOf(value: unknown): PlateKey | undefined {
  return typeof value === "object" && value !== null && "position" in value ? (value as PlateKey) : undefined;
}

/** Whether the event is about this ticket. */
export function about(event: Recorded, ticket: number): boolean {
  const { body } = event;
  if (body["ticket"] === ticket) return true;
  if (body["from"] === ticket || body["to"] === ticket || body["into"] === ticket) return true;
  return ["plate", "from", "to"].some((name) => plateOf(body[name])?.ticket === ticket);
}

/** What it says; nothing for what only the line itself needs to know (pans, letters, marks). */
export function sentence(event: Recorded, ticket: number): string | undefined {
  const { name, body } = event;
  const course = String(body["course"] ?? "");
  const meet = typeof body["meet_ms"] === "number" ? clockText(body["meet_ms"]) : "";
  const plate = plateOf(body["plate"]);
  const at = plate === undefined ? "" : `position ${plate.position}, ${plate.course}`;
  switch (name) {
    case "ticket_sent":
      return "ordered";
    case "plate_changed": {
      const wanted = body["plate"] as { position: number; dish: string };
      return wanted.dish === ""
        ? `position ${wanted.position}: no ${course}`
        : `position ${wanted.position}: ${wanted.dish} now`;
    }
    case "allergy_told":
      return `position ${body["position"]} told: no ${list(body["allergies"] as string[])}`.toString();
    case "ticket_cancelled":
      return "cancelled";
    case "positions_moved":
      return (body["moves"] as { from: number; to: number }[])
        .map((move) => `position ${move.from} sits at ${move.to}`)
        .join(", ");
    case "table_changed":
      return `sits at table ${body["table"]}`;
    case "ticket_split":
      return body["into"] === ticket ? `split from ticket ${body["ticket"]}` : `ticket ${body["into"]} split off`;
    case "ticket_merged":
      return body["into"] === ticket ? `ticket ${body["ticket"]} joined` : `joined ticket ${body["into"]}`;
    case "table_paused":
      return body["why"] === "up"
        ? "table up"
        : `speech${typeof body["until_ms"] === "number" ? ` until about ${clockText(body["until_ms"])}` : ""}`;
    case "table_resumed":
      return "sits again";
    case "pace_asked":
      return `asked ${Math.abs(Number(body["minutes"]))} min ${Number(body["minutes"]) > 0 ? "slower" : "faster"}`;
    case "course_fired":
      return `${course} fired for ${meet}`;
    case "course_unfired":
      return `${course} not fired after all`;
    case "course_held":
      return `${course} held`;
    case "course_released":
      return `${course} released for ${meet}`;
    case "meet_moved":
      return `${course} meet ${meet}`;
    case "plate_blocked":
      return `${at} blocked: ${body["component"]} holds ${body["allergen"]}`;
    case "plate_cleared":
      return `${at} cleared by ${body["by"]}`;
    case "refire_ordered":
      return `${at} again, ${body["reason"]}: ${list(body["components"] as string[])}`;
    case "portion_lent": {
      const from = plateOf(body["from"]);
      return from?.ticket === ticket
        ? `position ${from.position} lends a portion`
        : `position ${plateOf(body["to"])?.position} borrows a portion`;
    }
    case "plate_back":
      return `${at} brought back`;
    case "course_gone": {
      const late = Math.round(Number(body["late_ms"]) / 60_000);
      const spread = Math.round(Number(body["spread_ms"]) / 1000);
      return `${course} gone, spread ${spread} s${late > 0 ? `, ${late} min late` : ""}`;
    }
    default:
      return undefined;
  }
}

export interface Line {
  seq: number;
  at_ms: number;
  says: string;
}

export function story(events: Recorded[], ticket: number): Line[] {
  const told: Line[] = [];
  for (const event of events) {
    const says = about(event, ticket) ? sentence(event, ticket) : undefined;
    if (says !== undefined) told.push({ seq: event.seq, at_ms: event.at_ms, says });
  }
  return told;
}

/** All events of the record that are there, page by page. */
export async function readRecord(ask: (path: string) => Promise<Response>): Promise<Recorded[]> {
  const all: Recorded[] = [];
  for (;;) {
    const answer = await ask(`events?after=${all.at(-1)?.seq ?? 0}&limit=1000`);
    if (!answer.ok) throw new Error(String(answer.status));
    const page = (await answer.json()) as Recorded[];
    all.push(...page.map(({ seq, at_ms, name, body }) => ({ seq, at_ms, name, body })));
    if (page.length < 1000) return all;
  }
}
