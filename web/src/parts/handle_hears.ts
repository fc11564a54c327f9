// What both views tell of handles and of the pointer: the hand follows, and the same point shows on both.
import type { Bench } from "../job/bench.svelte";
import type { Handle, Vec2, Vec3 } from "../wire";

export function handleHears(bench: () => Bench, handleOf: (id: string) => Handle | undefined) {
  return {
    dragHandle: (_: string, by: number) => bench().hands.pullHandle(by),
    nudgeHandle(id: string, by: number) {
      const handle = handleOf(id);
      if (handle) bench().hands.nudgeHandle(handle, by);
    },
    drop: () => bench().hands.drop(),
    leave: () => bench().hands.leave(),
    hover(at: Vec3 | null, flat: Vec2 | null) {
      bench().spot.hoverLast = at;
      bench().spot.hoverFlat = flat;
    },
  };
}
