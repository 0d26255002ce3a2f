// The time a job takes, in milliseconds: on the step that is due, and in all. It runs on while
// the page is closed, since the work does; it stands still while it is stopped.
const Clock = (() => {
  const fresh = () => ({ since: Date.now(), step: 0, total: 0 }); // since null: stopped

  function settle(clock) {
    if (clock.since === null) return;
    const now = Date.now();
    const gone = Math.max(0, now - clock.since);
    clock.step += gone;
    clock.total += gone;
    clock.since = now;
  }

  // Ends a step: its seconds.
  function lap(clock) {
    settle(clock);
    const seconds = Math.round(clock.step / 1000);
    clock.step = 0;
    return seconds;
  }

  function stop(clock) {
    settle(clock);
    clock.since = null;
  }

  function run(clock) {
    clock.since ??= Date.now();
  }

  const isSound = (clock) => [clock?.step, clock?.total].every((one) => Number.isFinite(one) && one >= 0)
    && (clock.since === null || Number.isFinite(clock.since));

  return { fresh, settle, lap, stop, run, isSound };
})();
