// The word of a blank device, and the list of devices where somebody says what each word is.

import { useEffect, useState } from "preact/hooks";
import { Asking, choices, type Devices, type Door, pairBody } from "../pairing.ts";

export function PairPage({ door, before, onPaired }: { door: Door; before?: string; onPaired(): void }) {
  const [, redraw] = useState(0);
  const [asking] = useState(() => new Asking(door, () => redraw(Math.random()), onPaired));
  useEffect(() => {
    asking.start();
    return () => asking.stop();
  }, [asking]);
  return (
    <main class="pair">
      {before !== undefined && <p role="alert">{before}</p>}
      {asking.word === undefined ? (
        <p role="status">{asking.trouble ?? "Asking the server for a word."}</p>
      ) : (
        <>
          <h1>This screen is not known here yet. Its word is</h1>
          <p class="pair-word" role="status">
            {asking.word}
          </p>
          <p>
            Say it at the pass: there, <em>devices</em> in the help, or <code>nappe pair {asking.word} as pass</code> in
            a terminal. This page goes on by itself.
          </p>
        </>
      )}
    </main>
  );
}

function Waiting(props: { word: string; from: string; options: string[]; onSay(choice: string): void }) {
  return (
    <li>
      <strong>{props.word}</strong> <span class="soft">asks from {props.from}. It is</span>{" "}
      <select
        aria-label={`What ${props.word} is`}
        onChange={(event) => event.currentTarget.value !== "" && props.onSay(event.currentTarget.value)}
      >
        <option value="">choose</option>
        {props.options.map((option) => (
          <option key={option} value={option}>
            {option}
          </option>
        ))}
      </select>
    </li>
  );
}

export function DevicesPage({ door, stations }: { door: Door; stations: string[] }) {
  const [list, setList] = useState<Devices | undefined>(undefined);
  const [says, setSays] = useState("");
  const look = async () => {
    try {
      const answer = await door.fetch("devices");
      const body = await answer.json();
      if (answer.ok) setList(body);
      else setSays(body.detail);
    } catch {
      setSays("The server does not answer.");
    }
  };
  const say = async (path: string, init: RequestInit) => {
    try {
      const answer = await door.fetch(path, init);
      const body = await answer.json();
      setSays(answer.ok ? "" : body.detail);
    } catch {
      setSays("The server does not answer.");
    }
    void look();
  };
  const pair = (word: string, choice: string) =>
    say("devices", {
      method: "POST",
      headers: { "Content-Type": "application/json" },
      body: JSON.stringify(pairBody(word, choice)),
    });
  useEffect(() => {
    void look();
    const timer = window.setInterval(() => void look(), 2_000);
    return () => window.clearInterval(timer);
  }, []);
  return (
    <main class="pair">
      <a href="#/">the pass</a>
      <h1>Devices</h1>
      <p role="status">{says}</p>
      <ul>
        {Object.entries(list?.asking ?? {}).map(([word, asking]) => (
          <Waiting
            key={word}
            word={word}
            from={asking.from}
            options={choices(stations)}
            onSay={(choice) => void pair(word, choice)}
          />
        ))}
        {Object.values(list?.devices ?? {}).map((device) => (
          <li key={device.name}>
            {device.name} <span class="soft">{[device.role, device.station].filter(Boolean).join(" ")}</span>
            {device.open > 0 ? " here " : " "}
            <button
              type="button"
              onClick={() => void say(`devices/${encodeURIComponent(device.name)}`, { method: "DELETE" })}
            >
              end its pairing
            </button>
          </li>
        ))}
      </ul>
    </main>
  );
}
