// The whole story of a table, from the record.

import { useEffect, useRef, useState } from "preact/hooks";
import { type Line, readRecord, story } from "../story.ts";
import { clockText } from "../words.ts";

const ask = (path: string) => fetch(new URL(path, document.baseURI), { cache: "no-store" });

export function StoryView(props: { table: string; ticket: number; onClose(): void }) {
  const dialog = useRef<HTMLDialogElement>(null);
  const [lines, setLines] = useState<Line[] | undefined>();
  const [trouble, setTrouble] = useState("");
  useEffect(() => {
    dialog.current?.showModal();
    readRecord(ask)
      .then((events) => setLines(story(events, props.ticket)))
      .catch(() => setTrouble("The record cannot be read while the link is away."));
  }, [props.ticket]);
  return (
    <dialog ref={dialog} class="help story" aria-label={`Table ${props.table}, its story`} onClose={props.onClose}>
      <h2>
        table <b class="number">{props.table}</b>
      </h2>
      {trouble !== "" && <p role="status">{trouble}</p>}
      <ol>
        {(lines ?? []).map((line) => (
          <li key={line.seq}>
            <time>{clockText(line.at_ms)}</time> {line.says}
          </li>
        ))}
      </ol>
      <form method="dialog">
        <button type="submit">close</button>
      </form>
    </dialog>
  );
}
