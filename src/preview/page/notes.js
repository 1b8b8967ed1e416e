// Notes over time, what the limits did to them, and why.

const changed = (note, fate) => note.changes.filter(change => change.fate === fate).length;

// Dropped a cross, shifted a bar, shortened and lengthened triangles.
const changeMarks = {
  dropped: (ctx, x, y, s) => { ctx.moveTo(x - s, y - s); ctx.lineTo(x + s, y + s); ctx.moveTo(x - s, y + s); ctx.lineTo(x + s, y - s); },
  shifted: (ctx, x, y, s) => { ctx.moveTo(x, y - 1.3 * s); ctx.lineTo(x, y + 1.3 * s); },
  shortened: (ctx, x, y, s) => { ctx.moveTo(x - s, y - s); ctx.lineTo(x + s, y - s); ctx.lineTo(x, y + s); ctx.closePath(); },
  lengthened: (ctx, x, y, s) => { ctx.moveTo(x - s, y + s); ctx.lineTo(x + s, y + s); ctx.lineTo(x, y - s); ctx.closePath(); },
};

const changesInView = () => account.changes.filter(change => {
  const at = secondsOf(change.wantedStart);
  return at >= view.from && at <= view.until;
});

function drawNotes(u) {
  inPlot(u, (ctx, bbox, dpr) => {
    const row = Math.abs(u.valToPos(1, "y", true) - u.valToPos(0, "y", true));
    const height = Math.min(14 * dpr, Math.max(3 * dpr, row * 0.8));
    for (const note of account.notes) {
      if (secondsOf(note.start) > view.until || secondsOf(note.end) < view.from) continue;
      const x = u.valToPos(secondsOf(note.start), "x", true), y = u.valToPos(note.key, "y", true) - height / 2;
      const width = Math.max(dpr, u.valToPos(secondsOf(note.end), "x", true) - x);
      const silent = note.kept + note.changes.length === 0;
      ctx.fillStyle = colour("--band");
      ctx.strokeStyle = colour(silent ? "--wrong" : "--value");
      ctx.lineWidth = dpr;
      ctx.setLineDash(silent ? [3 * dpr, 3 * dpr] : []);
      if (!silent) ctx.fillRect(x, y, width, height);
      ctx.strokeRect(x, y, width, height);
      ctx.fillStyle = colour("--value");
      const whole = silent ? 0 : height * (1 - note.dropped / (note.kept + note.changes.length));
      ctx.fillRect(x, y + height - whole, width, whole);
    }
    const shown = changesInView();
    if (shown.length > 600) return;
    ctx.setLineDash([]);
    ctx.strokeStyle = ctx.fillStyle = colour("--ink");
    ctx.lineWidth = 1.5 * dpr;
    for (const change of shown) {
      ctx.beginPath();
      changeMarks[change.fate](ctx, u.valToPos(secondsOf(change.wantedStart), "x", true),
                         u.valToPos(account.notes[change.note].key, "y", true) - height / 2 - 6 * dpr, 3 * dpr);
      change.fate === "shortened" || change.fate === "lengthened" ? ctx.fill() : ctx.stroke();
    }
  });
}

function noteAt(seconds, key) {
  const tick = seconds * data.tick_hz, slack = (view.until - view.from) / 200 * data.tick_hz;
  let best = null;
  for (const note of account.notes) {
    if (note.start - slack > tick || note.end + slack < tick) continue;
    if (!best || Math.abs(note.key - key) < Math.abs(best.key - key)) best = note;
  }
  return best && Math.abs(best.key - key) < 3 ? best : null;
}

function noteInWords(note) {
  const wanted = note.kept + note.changes.length;
  const from = clock(secondsOf(note.start), 3), until = clock(secondsOf(note.end), 3);
  const sums = data.fates.slice(1).map(fate => [changed(note, fate), fate]).filter(([n]) => n).map(([n, fate]) => `${n} ${fate}`);
  const moves = note.changes.filter(change => change.burst !== null).map(change => Math.abs(bursts.start[change.burst] - change.wantedStart));
  const causes = [...new Set(note.changes.flatMap(change => change.limits.split(", ")))].filter(Boolean);
  return `${noteName(note.key)}, channel ${note.channel + 1}, voice ${note.voice + 1}, velocity ${note.velocity}, ${from} to ${until}: ` +
         (wanted ? `${wanted} bursts wanted, ${note.kept} as wanted${sums.map(sum => ", " + sum).join("")}` : "not played") +
         (moves.length && Math.max(...moves) ? `; moved by up to ${exactTime(Math.max(...moves))}` : "") +
         (causes.length ? `; because of ${causes.join(", ")}` : "") + (note.said ? `; ${note.said}` : "") + ".";
}

function tellWhy(seconds, key) {
  const note = noteAt(seconds, key);
  document.getElementById("why").textContent = note ? noteInWords(note) : "";
}

function listLosses(table, notes) {
  const rows = (what, losses) => losses.map(({ reason, notes: count }) => [what, reason, withShare(count, notes.read)]);
  fillTable(table, ["notes", "by", "of all"], [...rows("cut short", notes.cut_short_by), ...rows("not played", notes.not_played_by)]);
  if (notes.other_octave) element("caption", `${grouped(notes.other_octave)} of those played are in another octave.`, table);
}

function addNotes() {
  if (!account) return;
  document.getElementById("note-section").hidden = false;
  const sums = new Map(data.fates.map(fate => [fate, 0]));
  for (const change of account.changes) sums.set(change.fate, sums.get(change.fate) + 1);
  sums.set("kept", bursts.count + sums.get("dropped") - account.changes.length);
  const total = [...sums.values()].reduce((a, b) => a + b, 0);
  document.getElementById("note-sum").textContent = `${notesInWords(data.check.notes)}. Click a note in its plot to ask why.`;
  listLosses(document.getElementById("notes"), data.check.notes);
  document.getElementById("burst-sum").textContent =
      `They wanted ${grouped(total)} bursts = ` + [...sums].map(([fate, n]) => `${grouped(n)} ${fate}`).join(" + ") + ".";
  const keysSeen = account.notes.map(note => note.key);
  const lowest = keysSeen.reduce((a, b) => Math.min(a, b), 127), highest = keysSeen.reduce((a, b) => Math.max(a, b), 0);
  addPanel({
    title: "Notes", height: 240, range: [lowest - 2, highest + 2], shown: () => ({ x: [], low: [], high: [] }), draw: drawNotes,
    valueAt: () => "filled: bursts that sound; \u00d7 dropped, | shifted, \u25be shortened, \u25b4 lengthened; dashed: not played",
    axis: { values: (_, ticks) => ticks.map(tick => Number.isInteger(tick) ? noteName(tick) : "") }, clicked: tellWhy,
  });
  panels[panels.length - 1].rest = panels[panels.length - 1].spec.valueAt();
  panels[panels.length - 1].said.textContent = panels[panels.length - 1].rest;
}

const changesListed = 12;
function showChanges() {
  if (!account) return;
  const table = document.getElementById("changes"), shown = changesInView();
  table.caption.textContent = shown.length > changesListed
      ? `The first ${changesListed} of ${shown.length} changes in view; look closer for the others.` : `${shown.length} changes in view.`;
  fillTable(table, ["at", "note", "what", "wanted on-time", "on-time", "moved", "because of"], shown.slice(0, changesListed).map(change => {
    const there = change.burst !== null;
    return [clock(secondsOf(change.wantedStart), 6), noteName(account.notes[change.note].key), change.fate,
            exactTime(change.wantedOn), there ? exactTime(bursts.on[change.burst]) : "none",
            there ? exactTime(bursts.start[change.burst] - change.wantedStart) : "", change.limits];
  }));
}
