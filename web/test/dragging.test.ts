// A drag never has more than one unanswered message, and ends with what was dragged last.
import { expect, test } from "vitest";

import { Dragging } from "../src/talk/dragging";
import type { Said } from "../src/wire";

function started() {
  const said: Said[] = [];
  return { said, dragging: new Dragging(7, (message) => said.push(message)) };
}

const to = (value: number) => ({ entry: "stiffener.back_height", value });

test("while one message is unanswered the latest place waits, older ones are dropped", () => {
  const { said, dragging } = started();
  [50, 51, 52, 53].forEach((value) => dragging.move(to(value)));
  expect(said).toEqual([{ say: "drag", drag: 7, ...to(50) }]);
  dragging.answered();
  expect(said.slice(1)).toEqual([{ say: "drag", drag: 7, ...to(53) }]);
  dragging.leave();
});

test("letting go waits until the last place was sent and answered", () => {
  const { said, dragging } = started();
  dragging.move(to(50));
  dragging.move(to(51));
  dragging.drop(3);
  expect(said).toHaveLength(1);
  dragging.answered();
  expect(said).toHaveLength(2);
  dragging.answered();
  expect(said[2]).toEqual({ say: "drop", id: 3, drag: 7 });
});

test("after leaving nothing more is said", () => {
  const { said, dragging } = started();
  dragging.move(to(50));
  dragging.leave();
  dragging.move(to(51));
  dragging.answered();
  dragging.drop(3);
  expect(said.map((message) => message.say)).toEqual(["drag", "leave"]);
});
