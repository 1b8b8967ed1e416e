// Single bursts in words, and going from one to the next.

let burstInHand = -1;

function nearestBurst(tick) {
  const after = startedBefore(tick);
  if (after === 0) return bursts.count ? 0 : -1;
  if (after === bursts.count) return after - 1;
  const end = bursts.start[after - 1] + bursts.on[after - 1];
  return tick - end > bursts.start[after] - tick ? after : after - 1;
}

const noteNames = ["C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B"];
function noteName(key) {
  const nearest = Math.round(key), cents = Math.round(100 * (key - nearest));
  return noteNames[((nearest % 12) + 12) % 12] + (Math.floor(nearest / 12) - 1) +
         (cents ? ` ${cents > 0 ? "+" : "\u2212"}${Math.abs(cents)} cents` : "");
}

function changeInWords(change) {
  const wanted = `wanted at ${exactTime(change.wantedStart)} for ${exactTime(change.wantedOn)}`;
  const why = change.limits ? `, for ${change.limits}` : "";
  if (change.burst === null) return `dropped (${wanted}${why})`;
  const moved = bursts.start[change.burst] - change.wantedStart;
  const by = moved ? ` by ${exactTime(moved)}` : "";
  return `${change.fate}${by} (${wanted}${why})`;
}

function burstInWords(i) {
  const parts = [`burst ${grouped(i + 1)} of ${grouped(bursts.count)}`, `start ${exactTime(bursts.start[i])}`,
                 `on-time ${exactTime(bursts.on[i])}`];
  if (i > 0) parts.push(`gap before ${exactTime(bursts.start[i] - bursts.start[i - 1] - bursts.on[i - 1])}`);
  if (!Number.isNaN(bursts.peak[i])) parts.push(`peak ${figure(bursts.peak[i])} A`);
  if (account) {
    const note = account.notes[account.noteOf[i]], change = account.changeOf.get(i);
    parts.push(`note ${noteName(note.key)}, channel ${note.channel + 1}`, change ? changeInWords(change) : "as wanted");
  }
  return parts.join("; ");
}

function readOut(i) {
  burstInHand = i;
  const readout = document.getElementById("readout");
  readout.textContent = i < 0 ? "No bursts." : burstInWords(i);
  readout.dataset.burst = i;
}

function goToBurst(i) {
  if (bursts.count === 0) return;
  i = Math.min(bursts.count - 1, Math.max(0, i));
  const at = secondsOf(bursts.start[i] + bursts.on[i] / 2), width = view.until - view.from;
  if (at < view.from || at > view.until) look(at - width / 2, at + width / 2);
  requestAnimationFrame(() => {
    for (const { u } of panels) u.setCursor({ left: u.valToPos(at, "x"), top: 10 });
    readOut(i);
  });
}

const secondsInHand = () => burstInHand >= 0 ? secondsOf(bursts.start[burstInHand]) : -1;
const pointedAt = seconds => readOut(nearestBurst(seconds * data.tick_hz));

Object.assign(actions, { "burst-before": () => goToBurst(burstInHand - 1), "burst-after": () => goToBurst(burstInHand + 1) });
Object.assign(keys, { "p": "burst-before", "n": "burst-after" });
