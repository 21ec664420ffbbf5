// An evening at Larkfold (an invented restaurant) as pass documents: which tables are in the kitchen, when they meet, and
// from that every thread by the invented durations of its dishes. Not the line and not the planner: only plausible enough
// to look at and to press on.

const minute = 60_000;
const s = 1000;

/** 64-bit SplitMix: the same evening from the same seed on every machine. */
export function seeded(seed) {
  let state = BigInt.asUintN(64, BigInt(seed));
  const mask = (value) => BigInt.asUintN(64, value);
  return () => {
    state = mask(state + 0x9e3779b97f4a7c15n);
    let z = state;
    z = mask((z ^ (z >> 30n)) * 0xbf58476d1ce4e5b9n);
    z = mask((z ^ (z >> 27n)) * 0x94d049bb133111ebn);
    z ^= z >> 31n;
    return Number(z >> 11n) / 2 ** 53;
  };
}

// length: seconds from the first move to the plate for n portions; keep: seconds it may stand; rest: [from the end, shortest,
// longest] in seconds; cue: it ends by one.
const components = {
  emmer: { station: "garnish", keep: 90, cue: true, length: (n) => 45 + 5 * n + 30 + 7 * (72 + 2 * n) + 132 + 30 + 30 * n },
  mackerel: { station: "larder", keep: 240, length: (n) => 105 * n },
  leek: { station: "garnish", keep: 150, length: (n) => 300 + 43 * n },
  emulsion: { station: "sauce", keep: 120, length: (n) => 15 + 8 * n },
  loin: { station: "sauce", keep: 120, rest: (n) => [600 + 30 * n, 480, 840], length: (n) => 1075 + 50 * n },
  damson: { station: "sauce", keep: 300, length: (n) => 25 + 50 * n },
  "swede puree": { station: "garnish", keep: 1200, length: (n) => 190 + 18 * n },
  turnips: { station: "garnish", keep: 180, length: (n) => 215 + 19 * n },
  pollack: { station: "fish", keep: 75, rest: (n) => [105 + 15 * n, 60, 150], length: (n) => 305 + 29 * n },
  "perry sauce": { station: "fish", keep: 300, length: (n) => 175 + 9 * n },
  potatoes: { station: "garnish", keep: 300, length: (n) => 172 + 10 * n },
  "sea beet": { station: "garnish", keep: 60, length: (n) => 15 + 11 * n },
  mushroom: { station: "garnish", keep: 150, length: (n) => 477 + 16 * n },
  curd: { station: "garnish", keep: 150, length: (n) => 70 + 31 * n },
  pudding: { station: "pastry", keep: 100, rest: (n) => [300 + 32 * n, 270, 360], length: (n) => 922 + 41 * n },
  pear: { station: "pastry", keep: 360, length: (n) => 160 + 52 * n },
  caramel: { station: "pastry", keep: 240, length: (n) => 15 + 39 * n },
};

const dishes = {
  e: ["emmer", "Ladled emmer", ["emmer"]],
  m: ["mackerel", "Torched mackerel", ["mackerel"]],
  k: ["leek", "Charred leek", ["leek", "emulsion"]],
  h: ["hogget", "Hogget loin", ["loin", "damson", "swede puree", "turnips"]],
  p: ["pollack", "Pollack", ["pollack", "perry sauce", "potatoes", "sea beet"]],
  u: ["mushroom", "Hen-of-the-woods", ["mushroom", "curd"]],
  d: ["pudding", "Rye and prune pudding", ["pudding"]],
  r: ["pear", "Roast pear", ["pear", "caramel"]],
};

const course_names = ["starters", "mains", "desserts"];
const stations = ["sauce", "fish", "garnish", "larder", "pastry"];
const people = { sauce: ["Bashir"], fish: ["Yuki"], garnish: ["Ines", "Tom"], larder: ["Perrin"], pastry: ["Odile"] };

/** Tables: what each ordered (starters/mains/desserts), which course is on, when it meets (minutes from now). */
export const friday = [
  { table: "2", order: "mm/hp/dr", on: 1, meet: -0.15, allergies: {} },
  { table: "7", order: "mmek/hhpu/dddr", on: 2, meet: 0.65,  room: "garden", walk: 45 },
  { table: "5", order: "emmk/hhpu/dddr", on: 1, meet: 3.5, allergies: { 2: "MILK" } },
  { table: "8", order: "eemmmk/hhhppu/ddddr", on: 1, meet: 6.3, late: 1.6, allergies: { 4: "GLUTEN" }, note: "birthday" },
  { table: "10", order: "eemk/hhpu/ddrr", on: 0, meet: 8.3, room: "garden", walk: 45, shared: "10, 12", allergies: { 3: "NUTS" } },
  { table: "12", order: "eemk/hppu/ddrr", on: 0, meet: 8.3, shared: "10, 12" },
  { table: "4", order: "em/hu/dr", on: 1, meet: 11, held: true },
  { table: "6", order: "ek/hu/dr", on: 0, meet: 13.3, late: 3.2, allergies: { 2: "MILK" } },
  { table: "11", order: "eemk/hhpp/ddrr", on: 1, meet: 14.5, allergies: { 1: "FISH, MOLLUSCS" } },
  { table: "9", order: "ek/hu/dd", on: 2, meet: 15.2 },
  { table: "3", order: "em/hp/dr", on: 0, meet: 17.0 },
  { table: "14", order: "me/pp/dr", on: 1, meet: 19 },
  { table: "1", order: "kk/pu/dr", on: 0, waiting: true },
  { table: "15", order: "emmk/hhpp/ddrr", on: 0, waiting: true },
  { table: "13", order: "eekm/hppu/ddrr", on: 1, waiting: true },
];

const walk_of = (table) => (table.walk ?? 15) * s;

export class Evening {
  /** `start_ms`: kitchen time at which `tables` are as written. */
  constructor({ start_ms, seed = 1, tables = friday, pans_from = 10 }) {
    this.start_ms = start_ms;
    this.name = "Friday";
    this.open = true;
    this.alerts = {};
    this.colour = undefined;
    const random = seeded(seed);
    let pan = pans_from;
    this.tables = tables.map((table, i) => ({
      ...table,
      ticket: i + 1,
      courses: table.order.split("/").map((letters, order) => {
        const done = order < table.on;
        const waiting = order > table.on || table.waiting === true;
        const meet_ms = start_ms + Math.round((table.meet ?? 20) * 60) * s;
        return {
          id: course_names[order],
          order,
          letters,
          state: done ? "gone" : waiting ? "waiting" : table.held ? "held" : "fired",
          meet_ms,
          late_ms: order === table.on ? (table.late ?? 0) * minute : 0,
          gone_ms: start_ms - (25 + i * 3) * minute,
          spread_ms: Math.round((8 + random() * 25) * s),
          threads: this.makeThreads(letters, () => pan++, random),
          gone: new Set(),
        };
      }),
    }));
  }

  makeThreads(letters, next_pan, random) {
    const counts = new Map();
    for (const letter of letters) {
      for (const what of dishes[letter][2]) counts.set(what, (counts.get(what) ?? 0) + 1);
    }
    return [...counts].map(([what, n]) => ({
      pan: next_pan(),
      what,
      n,
      letter: "ABCDEFG"[Math.floor(random() * 7)],
      early: Math.round(random() ** 2 * Math.min(110, components[what].keep)) * s,
    }));
  }

  course(ticket, id) {
    return this.tables.find((table) => table.ticket === ticket)?.courses.find((course) => course.id === id);
  }

  thread(course, table, thread, longest, now) {
    const kind = components[thread.what];
    const length = kind.length(thread.n) * s;
    const pull = thread === longest;
    const expected = course.meet_ms + course.late_ms;
    const to_ms = pull ? expected : course.meet_ms - thread.early;
    const from_ms = to_ms - length;
    const drawn = {
      pan: thread.pan,
      what: thread.what,
      letter: thread.letter,
      station: kind.station,
      n: thread.n,
      state: "waiting",
      from_ms,
      to_ms,
    };
    if (from_ms > now || course.state === "held") {
      if (!pull) drawn.can_wait = true;
    }
    if (from_ms <= now) drawn.state = to_ms <= now ? "ready" : "going";
    const rest = kind.rest?.(thread.n).map((value) => value * s);
    if (rest !== undefined && drawn.state === "going") {
      const begins = to_ms - rest[0];
      if (begins <= now) drawn.state = "resting";
      drawn.rest = { min_ms: begins + rest[1], max_ms: begins + rest[2] };
    }
    if (drawn.state === "ready") drawn.until_ms = to_ms + kind.keep * s;
    if (kind.cue && drawn.state === "going" && to_ms - now > 2.5 * minute) drawn.cue_open = true;
    if (table.shared !== undefined && thread.what === "emmer") drawn.shared = table.shared;
    const allergy = Object.entries(table.allergies ?? {}).find(([position]) => {
      const letter = course.letters[Number(position) - 1];
      return letter !== undefined && dishes[letter][2][0] === thread.what;
    });
    if (allergy !== undefined) drawn.words = `NO ${allergy[1]}`;
    if (thread.over !== undefined) drawn.over = thread.over;
    return drawn;
  }

  courseDocument(course, table, now) {
    const document = {
      name: course.id,
      order: course.order,
      covers: course.letters.length,
      state: course.state,
      threads: {},
      plates: {},
    };
    const running = course.state === "fired" || course.state === "held";
    const longest = course.threads.reduce((a, b) =>
      components[b.what].length(b.n) > components[a.what].length(a.n) ? b : a,
    );
    if (running) {
      document.meet_ms = course.meet_ms;
      document.expected_ms = course.meet_ms + course.late_ms;
      document.drift_ms = course.late_ms;
      document.word_ms = Math.ceil((document.expected_ms + 20 * s) / minute) * minute;
      document.pull = `p${longest.pan}`;
      for (const thread of course.threads) {
        document.threads[`p${thread.pan}`] = this.thread(course, table, thread, longest, now);
      }
    } else if (course.state === "waiting") {
      const chain = components[longest.what].length(longest.n) * s;
      document.could_ms = Math.ceil((now + chain + 30 * s) / minute) * minute;
    } else {
      document.gone_ms = course.gone_ms;
      document.spread_ms = course.spread_ms;
    }
    [...course.letters].forEach((letter, i) => {
      document.plates[String(i + 1)] = this.plate(course, table, document, letter, i + 1, now);
    });
    return document;
  }

  plate(course, table, document, letter, position, now) {
    const [dish, name, needs] = dishes[letter];
    const plate = { dish, name, state: "cooking" };
    const words = table.allergies?.[position];
    if (words !== undefined) plate.words = `NO ${words}`;
    if (course.state === "gone" || course.gone.has(position)) return { ...plate, state: "gone", since_ms: course.gone_ms };
    const threads = Object.values(document.threads).filter((thread) => needs.includes(thread.what));
    if (threads.length === 0) return plate;
    if (needs.length > 1) plate.parts = Object.fromEntries(needs.map((what) => [what, what]));
    if (course.again?.has(position)) plate.borrowed = { loin: "loin from table 11" };
    const missing = threads.filter((thread) => thread.state !== "ready");
    if (course.blocked?.has(position)) {
      return { ...plate, state: "blocked", blocked: { [needs[0]]: `${needs[0]} holds milk` } };
    }
    if (missing.length === 0) {
      plate.state = "standing";
      plate.since_ms = Math.max(...threads.map((thread) => thread.to_ms));
      plate.until_ms = Math.min(...threads.map((thread) => thread.until_ms ?? now)) - walk_of(table);
    } else {
      plate.missing = missing.map((thread) => `${thread.what} (${thread.station})`).join(", ");
    }
    return plate;
  }

  /** The pass document at this kitchen time. */
  document(now) {
    const document = {
      service: { name: this.name, open: this.open, utc_offset_minutes: this.utc_offset_minutes ?? 0 },
      stations: {},
      tables: {},
      standing: {},
      short: {},
      load: {},
      off: { pollack: { name: "Pollack", left: 3 }, emmer: { name: "Ladled emmer", left: 5 } },
      lend: this.lend ?? {},
      alerts: this.alerts,
    };
    stations.forEach((id, order) => {
      const names = people[id];
      document.stations[id] = {
        name: id,
        order,
        hands: names.length === 2 ? 1.74 : 1,
        people: Object.fromEntries(names.map((name) => [name.toLowerCase(), { name, counts: 1, present: true }])),
      };
    });
    for (const table of this.tables) {
      const drawn = {
        ticket: table.ticket,
        table: table.table,
        covers: table.courses[0].letters.length,
        room: table.room ?? "room",
        walk_ms: walk_of(table),
        sent_ms: this.start_ms - 60 * minute,
        courses: {},
      };
      if (table.pause) drawn.pause = table.pause;
      if (table.pace) drawn.pace_minutes = table.pace;
      if (table.note) drawn.note = table.note;
      if (table.allergies && Object.keys(table.allergies).length > 0) drawn.allergies = table.allergies;
      for (const course of table.courses) {
        const made = this.courseDocument(course, table, now);
        if (made.state === "fired" || made.state === "held") this.addCarry(made, drawn);
        drawn.courses[course.id] = made;
      }
      document.tables[String(table.ticket)] = drawn;
      this.addStanding(document, drawn);
    }
    this.addLoad(document, now);
    if (this.colour !== undefined) document.colour = this.colour;
    return document;
  }

  addCarry(course, table) {
    const here = Object.entries(course.plates).filter(([, plate]) => plate.state !== "gone");
    const alone = here.filter(([, plate]) => plate.words !== undefined);
    const pairs = here.filter(([, plate]) => plate.words === undefined).map(([at, plate]) => `${at} ${plate.name}`);
    const trips = [];
    for (let i = 0; i < pairs.length; i += 2) trips.push(pairs.slice(i, i + 2).join(", "));
    for (const [at, plate] of alone) trips.push(`${at} ${plate.name} ${plate.words}, alone: last up, first down`);
    course.carry = {
      hands: trips.length,
      call_ms: (course.expected_ms ?? course.meet_ms) - table.walk_ms,
      trips: Object.fromEntries(trips.map((trip, i) => [String(i + 1).padStart(2, "0"), trip])),
    };
    course.latest_ms = (course.expected_ms ?? course.meet_ms) + 3 * minute;
    course.latest_what = "loin A";
  }

  addStanding(document, table) {
    for (const [id, course] of Object.entries(table.courses)) {
      if (course.state === "gone" || course.state === "waiting") continue;
      const plates = Object.values(course.plates).filter((plate) => plate.state !== "gone");
      const up = plates.filter((plate) => plate.state === "standing");
      if (up.length === 0) continue;
      const missing = [...new Set(plates.flatMap((plate) => (plate.missing ?? "").split(", ")))].filter(Boolean);
      document.standing[`${table.ticket}-${id}`] = {
        ticket: table.ticket,
        table: table.table,
        course: id,
        up: up.length,
        of: plates.length,
        until_ms: Math.min(...up.map((plate) => plate.until_ms)),
        walk_ms: table.walk_ms,
        hands: Math.ceil(up.length / 2),
        ...(missing.length > 0 ? { missing: missing.join(", ") } : {}),
      };
    }
  }

  addLoad(document, now) {
    const slot = 300 * s;
    const first = Math.floor(now / slot) * slot;
    const shape = { sauce: 0.4, fish: 0.35, garnish: 0.62, larder: 0.25, pastry: 0.42 };
    const random = seeded(first / slot);
    for (const id of stations) {
      document.load[id] = {};
      for (let i = 0; i < 12; ++i) {
        const swell = Math.exp(-(((i - 3) / 4) ** 2));
        const share = Math.min(1.1, shape[id] * (0.55 + 0.85 * swell) * (0.85 + 0.3 * random()));
        document.load[id][String(first + i * slot)] = Math.round(share * 100) / 100;
      }
    }
    document.short.garnish = { name: "garnish", behind_ms: 110 * s, from_ms: first + 3 * slot - 2 * minute, table: "3" };
  }

  /** What a command does here: enough of the line to see that the page asked the right thing. A sentence refuses. */
  obey(action, now) {
    const [[name, body]] = Object.entries(action);
    if (name === "acknowledge") {
      this.alerts = { ...this.alerts, [`a${body.alert}`]: { ...this.alerts[`a${body.alert}`], answered: true } };
      return undefined;
    }
    if (name === "shelve") {
      const alert = this.alerts[`a${body.alert}`];
      this.alerts = { ...this.alerts, [`a${body.alert}`]: { ...alert, shelved_until_ms: body.until_ms } };
      return undefined;
    }
    const table = this.tables.find((one) => one.ticket === body.ticket);
    switch (name) {
      case "send_ticket":
      case "change_ticket":
      case "cancel_ticket":
      case "move_positions":
      case "move_table":
      case "split_table":
      case "merge_tables":
      case "set_left":
        return undefined;
      case "speech":
        table.pause = { why: "speech", since_ms: now, until_ms: now + body.minutes * minute };
        return undefined;
      case "table_up":
        table.pause = { why: "up", since_ms: now };
        return undefined;
      case "table_back":
        table.pause = undefined;
        return undefined;
      case "pace":
        table.pace = (table.pace ?? 0) + body.minutes;
        return undefined;
      default:
    }
    const course = this.course(body.ticket, body.course);
    if (course === undefined) return { code: "unknown", detail: "there is no such course" };
    const needs = (...states) =>
      states.includes(course.state) ? undefined : { code: "conflict", detail: `the ${course.id} are ${course.state} already` };
    switch (name) {
      case "fire": {
        const refused = needs("waiting");
        if (refused) return refused;
        const could = this.courseDocument(course, this.tables[body.ticket - 1], now).could_ms;
        Object.assign(course, { state: "fired", meet_ms: body.meet_ms ?? could });
        return undefined;
      }
      case "hold": {
        const refused = needs("fired");
        if (!refused) course.state = "held";
        return refused;
      }
      case "release": {
        const refused = needs("held");
        if (!refused) course.state = "fired";
        return refused;
      }
      case "move_meet":
        course.meet_ms = body.meet_ms;
        return undefined;
      case "gone": {
        const refused = needs("fired", "held");
        if (refused) return refused;
        if (course.meet_ms - now > 2 * minute && !body.sure) {
          return { code: "refused", detail: `table ${this.tables[body.ticket - 1].table} is not up yet: say it again if it went all the same` };
        }
        [...course.letters].forEach((_, i) => {
          if (!(body.but ?? []).includes(i + 1)) course.gone.add(i + 1);
        });
        course.gone_ms = now;
        if (course.gone.size === course.letters.length) course.state = "gone";
        return undefined;
      }
      case "clear_plate":
        course.blocked?.delete(body.position);
        return undefined;
      case "refire":
      case "borrow":
        course.again = new Set([...(course.again ?? []), body.position]);
        return undefined;
      case "bring_back": {
        const refused = needs("gone");
        if (refused) return refused;
        course.state = "fired";
        course.gone = new Set(body.positions ? [...course.letters].map((_, i) => i + 1).filter((p) => !body.positions.includes(p)) : []);
        return undefined;
      }
      default:
        return { code: "invalid", detail: `the pass cannot ask for ${name}` };
    }
  }
}

export const demo_alert = {
  alert: 3,
  kind: "step_over",
  says: "mushroom C under the press too long, table 8",
  do: "garnish turns the mushroom now",
  since_ms: 0,
  answered: false,
  escalated: true,
  rank: 1,
  station: "garnish",
  pan: 28,
  table: "8",
};
