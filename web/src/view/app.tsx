// The page: the pass, or a station's list to look at.

import { useMemo, useState } from "preact/hooks";
import { columns, courseKey, layOut } from "../layout.ts";
import type { Store } from "../store.ts";
import { type Alert, type PassDocument, type StationDocument, stationDocument } from "../wire.ts";
import { clockText } from "../words.ts";
import { Alerts, Hands, Off, StandingList, WantedAgain } from "./aside.tsx";
import { CountsPage } from "./counts.tsx";
import { Hand } from "./hand.tsx";
import { Head } from "./head.tsx";
import { Help } from "./help.tsx";
import { type Route, useAnnounced, useRoute, useSize, useStation, useStore, useTide } from "./hooks.ts";
import { useKeys } from "./keyboard.ts";
import { OrderPage } from "./order.tsx";
import { find, type Pressing, usePressing } from "./pressing.ts";
import { RunIn } from "./runin.tsx";
import { StationView } from "./station.tsx";
import { TablePage } from "./table.tsx";
import { Waiting } from "./waiting.tsx";

const shelve_ms = 300_000;
/** The axis above the rows. */
const axis_rem = 1.5;

export function App({ store }: { store: Store }) {
  const station = useStation(store);
  const route = useRoute();
  if (route.page !== "pass") return <TakingPage store={store} route={route} />;
  return station === undefined ? <PassPage store={store} /> : <StationPage store={store} station={station} />;
}

function TakingPage({ store, route }: { store: Store; route: Route }) {
  const at = route.page === "order" ? route.table : undefined;
  const now_ms = useStore(store);
  return (
    <div class="page">
      <StoreHead store={store} now_ms={now_ms} covers={0} onHelp={undefined} />
      {route.page === "table" ? (
        <TablePage key={route.ticket} store={store} ticket={route.ticket} />
      ) : route.page === "counts" ? (
        <CountsPage store={store} />
      ) : (
        <OrderPage key={`order ${at}`} store={store} table={at} />
      )}
    </div>
  );
}

function StationPage({ store, station }: { store: Store; station: string }) {
  const now_ms = useStore(store);
  const document = store.screen(`station:${station}`);
  return (
    <div class="page">
      <StoreHead store={store} now_ms={now_ms} covers={0} onHelp={undefined} />
      {document === undefined ? (
        <main class="station">
          <p class="soft">No list of a station called {station} has come.</p>
          <a href="#/">the pass</a>
        </main>
      ) : (
        <StationView doc={stationDocument(document)} now_ms={now_ms}>
          <StationAlerts store={store} doc={stationDocument(document)} now_ms={now_ms} />
        </StationView>
      )}
    </div>
  );
}

/** What a station is asked, answered or put off here as at the pass. */
function StationAlerts({ store, doc, now_ms }: { store: Store; doc: StationDocument; now_ms: number }) {
  return (
    <Alerts
      doc={doc}
      now_ms={now_ms}
      asked={askedWords(store)}
      refusals={store.refusals}
      onSeen={(alert) => store.press({ acknowledge: { alert: alert.alert } })}
      onLater={(alert) => putOff(store, alert)}
      onDismiss={(refusal) => store.dismiss(refusal)}
    />
  );
}

function putOff(store: Store, alert: Alert): void {
  store.press({ shelve: { alert: alert.alert, until_ms: Math.round(store.clock.now()) + shelve_ms } });
}

function StoreHead(props: { store: Store; now_ms: number; covers: number; onHelp: (() => void) | undefined }) {
  const { store } = props;
  return (
    <Head
      now_ms={props.now_ms}
      service={store.pass?.service.name ?? ""}
      covers={props.covers}
      cut_since_ms={store.cut_since_ms}
      waiting={store.pending.length}
      safe={store.safe}
      connecting={!store.connection.live && store.cut_since_ms === undefined}
      onHelp={props.onHelp}
    />
  );
}

/** Presses that wait for an answer, by what they are about, in words. */
function askedWords(store: Store): Map<string, string> {
  return new Map(
    store.pending.map((press) => [
      press.about,
      `${press.what}, ${store.connection.live ? "sent" : `waits since ${clockText(press.at_ms)}`}`,
    ]),
  );
}

interface PassProps {
  store: Store;
  doc: PassDocument;
  now_ms: number;
  pressing: Pressing;
  asked: Map<string, string>;
  seen(alert: Alert): void;
  later(alert: Alert): void;
}

/** The one coloured thing, if it is not an alert: shown where its plates stand, else in its row. */
function accents(doc: PassDocument): { standing: string | undefined; row: string | undefined } {
  const stands = doc.colour !== undefined && doc.colour in doc.standing;
  return { standing: stands ? doc.colour : undefined, row: stands ? undefined : doc.colour };
}

function Main({ store, doc, now_ms, pressing, asked }: PassProps) {
  const tide = useTide(store);
  const { ref, size } = useSize();
  const { selected, choose, nudged } = pressing;
  const drawing = useMemo(
    () =>
      size.width === 0 ? undefined : layOut(doc, { ...size, height: size.height - axis_rem * size.unit }, selected),
    [doc, size, selected],
  );
  return (
    <main>
      <div class="runin-room" ref={ref}>
        {drawing !== undefined && (
          <RunIn
            drawing={drawing}
            doc={doc}
            tide={tide}
            gutter={columns(size).gutter}
            now_ms={now_ms}
            selected={selected}
            accent={accents(doc).row}
            asked={asked}
            nudged={nudged}
            refusals={store.refusals.filter((refusal) => refusal.about !== selected)}
            onAgain={(again) => store.press(again)}
            onDismiss={(refusal) => store.dismiss(refusal)}
            onSelect={choose}
            onMove={(row, minutes) => {
              const found = find(doc, row.key);
              if (found !== undefined) pressing.move(found, minutes);
            }}
            onGone={(row) => {
              const found = find(doc, row.key);
              if (found !== undefined) pressing.act(found, "gone");
            }}
          />
        )}
      </div>
      <Waiting doc={doc} selected={selected} asked={asked} onSelect={choose} />
    </main>
  );
}

function OpenHand({ store, doc, now_ms, pressing, asked }: PassProps) {
  const here = find(doc, pressing.selected);
  if (here === undefined) return null;
  return (
    <Hand
      table={here.table}
      course_id={here.id}
      course={here.course}
      now_ms={now_ms}
      but={pressing.but}
      minutes={pressing.nudged?.key === here.key ? pressing.nudged.minutes : 0}
      asked={asked.get(here.key) ?? asked.get(`t${here.table.ticket}`)}
      refusals={store.refusals.filter((refusal) => [here.key, `t${here.table.ticket}`].includes(refusal.about))}
      lend={doc.lend}
      by={store.by}
      said_back={
        store.said_back.filter((one) => [here.key, `t${here.table.ticket}`].includes(one.about)).at(-1)?.sentence
      }
      onAsk={(asked) => {
        store.press(asked);
        pressing.clear();
      }}
      onBy={(name) => {
        store.by = name;
      }}
      onVerb={(verb) => pressing.act(here, verb)}
      onToggle={pressing.toggle}
      onCourse={(id) => pressing.open(courseKey(here.table.ticket, id))}
      onAgain={(again) => store.press(again)}
      onDismiss={(refusal) => store.dismiss(refusal)}
      onClose={() => pressing.choose(undefined)}
    />
  );
}

function Side(props: PassProps) {
  const { store, doc, now_ms, pressing, asked } = props;
  return (
    <aside aria-label="The pass">
      <div class="now">
        <Alerts
          doc={doc}
          now_ms={now_ms}
          asked={asked}
          refusals={store.refusals}
          onSeen={props.seen}
          onLater={props.later}
          onDismiss={(refusal) => store.dismiss(refusal)}
        />
        <StandingList
          doc={doc}
          now_ms={now_ms}
          accent={accents(doc).standing}
          selected={pressing.selected}
          onSelect={pressing.choose}
        />
      </div>
      {find(doc, pressing.selected) === undefined ? (
        <div class="soon">
          <Hands doc={doc} now_ms={now_ms} />
          <WantedAgain doc={doc} />
          <Off doc={doc} />
        </div>
      ) : (
        <OpenHand {...props} />
      )}
    </aside>
  );
}

/** Covers fired and not gone. */
function coversIn(doc: PassDocument | undefined): number {
  return Object.values(doc?.tables ?? {})
    .flatMap((table) => Object.values(table.courses))
    .filter((course) => course.state === "fired" || course.state === "held")
    .reduce((sum, course) => sum + course.covers, 0);
}

function PassPage({ store }: { store: Store }) {
  const now_ms = useStore(store);
  const pressing = usePressing(store);
  const [help, setHelp] = useState(false);
  const doc = store.pass;
  const said = useAnnounced(doc, now_ms, store.sound);
  const seen = (alert: Alert) => store.press({ acknowledge: { alert: alert.alert } });
  const later = (alert: Alert) => putOff(store, alert);
  useKeys(store, pressing, { help: () => setHelp(true), seen, later }, help || doc === undefined);

  const props = doc && { store, doc, now_ms, pressing, asked: askedWords(store), seen, later };
  return (
    <div class={`page ${find(doc, pressing.selected) === undefined ? "" : "has-hand"}`}>
      <StoreHead store={store} now_ms={now_ms} covers={coversIn(doc)} onHelp={() => setHelp(true)} />
      {props === undefined ? <main /> : <Main {...props} />}
      {props !== undefined && <Side {...props} />}
      <p class="unseen" aria-live="polite">
        {said}
      </p>
      {help && <Help store={store} onClose={() => setHelp(false)} />}
    </div>
  );
}
