// A browser, a server and a page for one test, put away afterwards.
import assert from "node:assert/strict";
import { existsSync } from "node:fs";
import { join } from "node:path";
import { after } from "node:test";
import { chromium } from "playwright-core";
import { launch_options, root, there } from "./browser.mjs";
import { demo_alert, Evening } from "./evening.mjs";
import { FakeServer } from "./fake_server.mjs";

// A Friday at 20:23:40 (UTC, as the browser is told).
export const start_ms = Date.UTC(2025, 10, 28, 20, 23, 40);
export const sizes = { tablet: [1180, 820], upright: [820, 1180], laptop: [1440, 900], wall: [1920, 1080] };

/** Why nothing can be tested here, or false. */
export const skip = !there
  ? "Chromium is not installed"
  : !existsSync(join(root, "index.html"))
    ? "the page is not built: npm run build in web/"
    : false;

let browser;
export async function theBrowser() {
  browser ??= await chromium.launch(launch_options);
  return browser;
}
after(() => browser?.close());

export function richEvening(options = {}) {
  const evening = new Evening({ start_ms, ...options });
  evening.alerts = { a3: { ...demo_alert, since_ms: start_ms - 25_000 } };
  evening.colour = "a3";
  return evening;
}

/** A page on a server with this evening, or with `documents`. Fails the test on any error the page prints. */
export async function open(t, options = {}) {
  const evening = options.evening ?? richEvening();
  const server = await new FakeServer({
    root,
    start_ms: options.start_ms ?? start_ms,
    rate: options.rate ?? 1,
    documents: options.documents ?? { pass: (now) => evening.document(now) },
    obey: (action, now) => evening.obey(action, now),
    ask: options.ask,
  }).listen();
  const [width, height] = sizes[options.size ?? "tablet"];
  const context = await (await theBrowser()).newContext({
    viewport: { width, height },
    timezoneId: "UTC",
    serviceWorkers: options.workers ?? "block",
    colorScheme: options.dark ? "dark" : "light",
    reducedMotion: options.calm ? "reduce" : "no-preference",
    hasTouch: options.touch ?? false,
  });
  const errors = [];
  const newPage = async () => {
    const page = await context.newPage();
    page.on("pageerror", (error) => errors.push(String(error)));
    page.on("console", (message) => {
      const text = message.text();
      if (message.type() === "error" && !/WebSocket connection|ERR_CONNECTION|Failed to load resource/.test(text)) {
        errors.push(text);
      }
    });
    return page;
  };
  const page = await newPage();
  t.after(async () => {
    await context.close();
    await server.stop();
    assert.deepEqual(errors, [], "the page printed errors");
  });
  await page.goto(server.address);
  await page.waitForSelector(".head");
  await until(() => server.subscribed.length > 0);
  if (!options.empty) await page.waitForSelector(".row");
  return { page, server, evening, context, newPage };
}

/** Waits until `what` holds; fails after `ms`. */
export async function until(what, ms = 8000) {
  const end = performance.now() + ms;
  for (;;) {
    const got = await what();
    if (got) return got;
    if (performance.now() > end) assert.fail(`not within ${ms} ms: ${what}`);
    await new Promise((resolve) => setTimeout(resolve, 25));
  }
}

export const row = (key) => `.row[data-key="${key}"]`;
export const chip = (key) => `.waiting [data-key="${key}"]`;
export const verb = (page, name) => page.locator(".verbs").getByRole("button", { name, exact: true });
export const asked = (server) => server.commands.map((command) => command.do);
