// The line on top: the kitchen's clock, the service, and in plain words whether the page is cut off.

import { clockText, plural, secondsText } from "../words.ts";

export function Head(props: {
  now_ms: number;
  service: string;
  /** Covers fired and not gone. */
  covers: number;
  cut_since_ms: number | undefined;
  waiting: number;
  safe: boolean;
  connecting: boolean;
  onHelp: (() => void) | undefined;
}) {
  const { now_ms, cut_since_ms, waiting } = props;
  return (
    <header class="head">
      <h1 class="clock">
        <span class="unseen">Pass, kitchen time </span>
        <time>
          {clockText(now_ms)}
          <small>:{secondsText(now_ms)}</small>
        </time>
      </h1>
      <p class="service">
        {props.service}
        {props.covers > 0 && `, ${plural(props.covers, "cover", "covers")} in the kitchen`}
      </p>
      <p class={cut_since_ms === undefined ? "link" : "link cut"} role="status">
        {cut_since_ms !== undefined && (
          <>
            <b>Cut off from the kitchen since {clockText(cut_since_ms)}.</b> Clocks run on.{" "}
            {waiting === 0
              ? "What you press is kept and sent later."
              : `${plural(waiting, "press waits", "presses wait")} for the link.`}
            {!props.safe && " This screen cannot keep them through a reload."}
          </>
        )}
        {props.connecting && "Connecting."}
      </p>
      {props.onHelp !== undefined && (
        <a class="order-link" href="#/order">
          order
        </a>
      )}
      {props.onHelp !== undefined && (
        <button type="button" class="help-button" onClick={props.onHelp} aria-label="help">
          ?
        </button>
      )}
    </header>
  );
}
