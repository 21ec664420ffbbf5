// The record of a night, folded without any code of ours: what was ordered, what each pan held, what left the pass.
import assert from "node:assert/strict";

const key = (plate) => `${plate.ticket} ${plate.course} ${plate.position}`;

/** `last_step(component)`: the id of the step that puts all of a pan on its plates. */
export function fold(events, last_step = () => undefined) {
  const night = { tickets: new Map(), pans: new Map(), gone: new Map(), wanted: new Map(), ended: new Map() };
  const { tickets, pans, gone, wanted, ended } = night;
  const act = {
    ticket_sent: (b) => {
      tickets.set(b.ticket, { table: b.order.table, cancelled: false, version: b.version });
      for (const course of b.order.courses) {
        for (const plate of course.plates) wanted.set(key({ ...plate, ticket: b.ticket, course: course.course }), plate);
      }
    },
    ticket_cancelled: (b) => (tickets.get(b.ticket).cancelled = true),
    plate_changed: (b) => {
      const name = key({ ticket: b.ticket, course: b.course, position: b.plate.position });
      if (b.plate.dish === "") wanted.delete(name);
      else wanted.set(name, b.plate);
    },
    pan_opened: (b) => pans.set(b.pan, { component: b.component, station: b.station, plates: new Set(b.plates.map(key)), plated: new Set(), by_finish: new Set() }),
    pan_dropped: (b) => pans.delete(b.pan),
    portions_moved: (b) => {
      for (const plate of b.plates.map(key)) {
        assert.ok(pans.get(b.from).plates.delete(plate), `${plate} was not in pan ${b.from}`);
        pans.get(b.to).plates.add(plate);
      }
    },
    portion_freed: (b) => {
      pans.get(b.pan).plates.delete(key(b.plate));
      pans.get(b.pan).plated.delete(key(b.plate));
    },
    portion_plated: (b) => {
      assert.ok(pans.get(b.pan).plates.has(key(b.plate)), `${key(b.plate)} was plated from pan ${b.pan}, which has none for it`);
      pans.get(b.pan).plated.add(key(b.plate));
    },
    step_ended: (b) => {
      const name = `${b.pan} ${b.step} ${b.round}`;
      assert.ok(!ended.get(name), `${name} ended twice`);
      ended.set(name, true);
      const pan = pans.get(b.pan);
      if (pan === undefined || b.step !== last_step(pan.component)) return;
      for (const plate of pan.plates) {
        if (!pan.plated.has(plate)) pan.by_finish.add(plate);
        pan.plated.add(plate);
      }
    },
    // What the press had done, from the step it stood at on, has not happened; later steps may end anew.
    step_reopened: (b) => {
      for (const name of ended.keys()) if (name.startsWith(`${b.pan} `)) ended.delete(name);
      for (const plate of pans.get(b.pan).by_finish) pans.get(b.pan).plated.delete(plate);
      pans.get(b.pan).by_finish.clear();
    },
    // The plate is to be there again, and what was cooked for it is thrown away.
    refire_ordered: (b) => {
      gone.delete(key(b.plate));
      for (const [id, pan] of pans) {
        if (!b.components.includes(pan.component)) continue;
        pan.plates.delete(key(b.plate));
        pan.plated.delete(key(b.plate));
        if (pan.plates.size === 0) pans.delete(id);
      }
    },
    plate_gone: (b) => gone.set(key(b.plate), b.at_ms),
    plate_back: (b) => gone.delete(key(b.plate)),
  };
  let last = 0;
  for (const event of events) {
    assert.equal(event.seq, ++last, "the record has no gap");
    act[event.name]?.(event.body);
  }
  return night;
}

/** No plate left without a component its dish has; no pan holds a portion for nobody. `parts(dish)`: its components. */
export function whole(night, parts) {
  const held = new Map();
  for (const [id, pan] of night.pans) {
    assert.ok(pan.plates.size > 0, `pan ${id} (${pan.component}) is kept for nobody`);
    for (const plate of pan.plates) {
      const order = night.wanted.get(plate);
      assert.ok(order, `pan ${id} holds ${pan.component} for ${plate}, which nobody ordered`);
      assert.ok(!night.tickets.get(Number(plate.split(" ")[0])).cancelled || night.gone.has(plate), `pan ${id} cooks for a cancelled ticket`);
      const name = `${plate} ${pan.component}`;
      assert.ok(!held.has(name), `${name} is in two pans`);
      held.set(name, pan);
    }
  }
  for (const plate of night.gone.keys()) {
    const order = night.wanted.get(plate);
    assert.ok(order, `${plate} left and nobody ordered it`);
    for (const component of parts(order.dish).filter((part) => !(order.left_off ?? []).includes(part))) {
      const pan = held.get(`${plate} ${component}`);
      assert.ok(pan, `${plate} left without ${component}`);
      assert.ok(pan.plated.has(plate), `${plate} left and its ${component} was never on it`);
    }
  }
}
