// Single bursts in words, and the keys that go from one to the next.

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
  const wanted = `wanted at ${exactMicroseconds(change.wantedStart)} us for ${exactMicroseconds(change.wantedOn)} us`;
  const why = change.limits ? `, for ${change.limits}` : "";
  if (change.burst === null) return `dropped (${wanted}${why})`;
  const moved = bursts.start[change.burst] - change.wantedStart;
  const by = moved ? ` by ${exactMicroseconds(moved)} us` : "";
  return `${change.fate}${by} (${wanted}${why})`;
}

function burstInWords(i) {
  const parts = [`burst ${i + 1} of ${bursts.count}`, `start ${exactMicroseconds(bursts.start[i])} us`,
                 `on-time ${exactMicroseconds(bursts.on[i])} us`];
  if (i > 0) parts.push(`gap before ${exactMicroseconds(bursts.start[i] - bursts.start[i - 1] - bursts.on[i - 1])} us`);
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

function zoom(factor) {
  const held = burstInHand >= 0 ? secondsOf(bursts.start[burstInHand]) : -1;
  const middle = held > view.from && held < view.until ? held : (view.from + view.until) / 2;
  look(middle - (middle - view.from) * factor, middle + (view.until - middle) * factor);
}
function pan(part) {
  const by = part * (view.until - view.from);
  const from = Math.min(Math.max(0, view.from + by), songSeconds - (view.until - view.from));
  look(from, from + view.until - view.from);
}

const actions = {
  "whole": () => look(0, songSeconds),
  "closer": () => zoom(0.5),
  "wider": () => zoom(2),
  "earlier": () => pan(-0.5),
  "later": () => pan(0.5),
  "burst-before": () => goToBurst(burstInHand - 1),
  "burst-after": () => goToBurst(burstInHand + 1),
};
const keys = { "Home": "whole", "+": "closer", "=": "closer", "-": "wider", "ArrowLeft": "earlier", "ArrowRight": "later",
               "p": "burst-before", "n": "burst-after" };

function listenToKeys() {
  for (const [id, act] of Object.entries(actions)) document.getElementById(id).addEventListener("click", act);
  document.addEventListener("keydown", event => {
    if (event.ctrlKey || event.altKey || event.metaKey || event.target.closest("audio, input")) return;
    if (event.key === " " && !event.target.closest("button")) playOrPause();
    else if (keys[event.key]) actions[keys[event.key]]();
    else return;
    event.preventDefault();
  });
}
