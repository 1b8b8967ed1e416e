// Puts the evening's page together, from set.json.

const data = JSON.parse(document.getElementById("data").textContent);
const { set } = data;
data.check = set.evening;
const songSeconds = Math.max(set.length_s, 1e-6);
const leastSeconds = Math.min(songSeconds, 1);

const tenths = value => value === null || value === undefined ? "\u2013" : fixed(value, 1);
const endOf = song => song.start_s + song.length_s;
const nameOf = song => song.title || song.stem;
// Any name may be in any script, so it is kept apart from what stands around it.
const named = song => `\u201c\u2068${nameOf(song)}\u2069\u201d`;

function sayHead() {
  const pauses = set.songs.slice(0, -1).reduce((sum, song) => sum + song.pause_after_s, 0);
  document.getElementById("title").textContent = set.name;
  showVerdict(document.getElementById("verdict"), set.evening.verdict, data.sentence);
  document.getElementById("about").textContent =
      `${set.songs.length} songs in ${hours(set.length_s)}, ${hours(pauses)} of it pauses, for \u201c\u2068${set.coil_name}\u2069\u201d ` +
      `(\u2068${set.coil_file}\u2069). Heatsink at ${tenths(set.start_c)} \u00b0C at the start, ambient ${tenths(set.ambient_c)} \u00b0C.`;
  const rest = set.evening.rest_before_repeat_s;
  document.getElementById("again").textContent =
      rest !== null ? `The set may start again after a rest of at least ${hours(Math.ceil(rest))}, as far as the judged limits go.`
      : set.evening.verdict === "within limits" ? "The set may not start again: no day of rest is enough."
      : "Longer pauses may mend it; a plan proposes them.";
}

const changed = ledger => ledger.shortened + ledger.shifted;
const turnedDown = ({ turned_down, ledger, ledger_from_cold: cold }) => turned_down
    ? `* ${grouped(changed(ledger))} of ${grouped(ledger.wanted)} bursts shortened or shifted, ${grouped(ledger.dropped)} dropped ` +
      `(from a cold start ${grouped(changed(cold))} and ${grouped(cold.dropped)})` : "";

// Of what the coil has to bear, as the terminal has it, and the heatsink's where that is another one: bursts as long
// and as close as they may be are no news.
function marginsOf({ limits }) {
  const burdens = limits.filter(({ limit }) => limit !== "gap" && !limit.startsWith("on-time"));
  const tightest = burdens.reduce((a, b) => a && a.margin_percent <= b.margin_percent ? a : b, undefined);
  const sink = limits.find(({ limit }) => limit === "heatsink");
  const box = document.createElement("div");
  for (const limit of new Set([tightest, sink].filter(Boolean))) element("div", `${fixed(limit.margin_percent, 1)} % ${limit.limit}`, box);
  return box;
}

// Of a song of which not all notes came through.
function lostNotes({ notes }) {
  const because = [...notes.cut_short_by, ...notes.not_played_by].map(({ reason, notes: count }) => `${reason} ${grouped(count)}`);
  return because.length ? [`${notesInWords(notes)}; ${because.join(", ")}`] : [];
}

function linkOf(song) {
  const link = element(song.preview_file ? "a" : "span", nameOf(song));
  link.dir = "auto";
  if (song.preview_file) link.href = song.preview_file.split("/").map(encodeURIComponent).join("/");
  return link;
}

function lookAtSong(i) {
  const song = set.songs[i], around = Math.max(1, 0.1 * song.length_s);
  look(song.start_s - around, endOf(song) + around);
  songInHand = i;
  readOut(song.start_s);
}

function startButton(song, i) {
  const button = element("button", hours(song.start_s));
  button.title = "show on the curve";
  button.addEventListener("click", () => {
    lookAtSong(i);
    document.getElementById("bar").scrollIntoView();
  });
  return button;
}

function listSongs() {
  const table = document.getElementById("songs"), last = set.songs.length - 1;
  const heads = ["", "song", "start", "length", "pause after", "peak junction \u00b0C", "peak heatsink \u00b0C", "heatsink at end \u00b0C", "lowest bus V", "notes whole", "margins", "verdict", "turned down"];
  const down = set.songs.filter(song => song.turned_down).length;
  table.caption.textContent = down ? `${down} turned down for a warm start.` : "None was turned down for a warm start.";
  fillTable(table, heads, set.songs.map((song, i) => [
    String(song.number), linkOf(song), startButton(song, i), hours(song.length_s), i < last ? withUnit(song.pause_after_s, "s") : "\u2013",
    tenths(song.highest?.junction_c), tenths(song.highest?.sink_c), tenths(song.at_end?.sink_c), tenths(song.lowest_bus_v), withShare(song.notes.whole, song.notes.read),
    marginsOf(song.judgement), `${marks[stateOfVerdict(song.judgement.verdict)]} ${song.judgement.verdict}`, turnedDown(song)]));
  asCards(table, heads, 1);
  [...table.tBodies[0].rows].forEach((row, i) => {
    row.className = stateOfVerdict(set.songs[i].judgement.verdict);
    row.cells[1].dataset.number = set.songs[i].number;
  });
  for (const row of table.rows) {
    for (const wide of ["notes whole", "margins"]) row.cells[heads.indexOf(wide)].classList.add("wide");
    const cell = row.cells[heads.length - 1];
    cell.className = "down";
    cell.hidden = !down;
  }
}

// Narrow windows lay out each row as a card under the cell that names it, and would hide that it is a row.
function asCards(table, heads, name) {
  table.className = "cards";
  for (const row of table.rows) row.cells[name].className = "name";
  for (const row of table.tBodies[0].rows) {
    row.setAttribute("role", "row");
    [...row.cells].forEach((cell, column) => { cell.dataset.head = heads[column]; cell.setAttribute("role", "cell"); });
  }
}

// What the curve says at a moment: the highest of an equal stretch of the evening.
function stretchAt(seconds) {
  let low = 0, high = set.heat.length;
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    set.heat[middle].from_s <= seconds ? low = middle : high = middle;
  }
  return set.heat[low];
}

const songAt = seconds => set.songs.findIndex(song => song.start_s <= seconds && seconds < endOf(song));

let songInHand = -1;
function readOut(seconds) {
  const i = songAt(seconds), before = set.songs.findLast(song => song.start_s <= seconds);
  const where = i >= 0 ? `song ${set.songs[i].number} ${named(set.songs[i])}` : before ? `pause after song ${before.number}` : "";
  const heat = set.heat.length ? stretchAt(seconds) : null;
  document.getElementById("readout").textContent = [`${hours(seconds)}: ${where}`,
    heat && `junction up to ${fixed(heat.junction_c, 1)} \u00b0C`, heat && `heatsink up to ${fixed(heat.sink_c, 1)} \u00b0C`,
    i >= 0 && set.songs[i].lowest_bus_v !== null && `bus down to ${fixed(set.songs[i].lowest_bus_v, 1)} V`].filter(Boolean).join("; ");
  if (i >= 0) songInHand = i;
}

// What plots and keys ask of a page.
const pointedAt = readOut;
const secondsInHand = () => songInHand >= 0 ? set.songs[songInHand].start_s + set.songs[songInHand].length_s / 2 : -1;
function viewChanged() {}
function seek() {}

function shadeSongs(u) {
  inPlot(u, (ctx, bbox, dpr) => {
    ctx.font = `${11 * dpr}px system-ui, sans-serif`;
    ctx.textAlign = "left";
    ctx.textBaseline = "bottom";
    for (const song of set.songs) {
      const left = Math.max(bbox.left, u.valToPos(song.start_s, "x", true)), right = Math.min(bbox.left + bbox.width, u.valToPos(endOf(song), "x", true));
      if (right < left) continue;
      ctx.fillStyle = colour("--song");
      ctx.fillRect(left, bbox.top, Math.max(dpr, right - left), bbox.height);
      ctx.fillStyle = colour("--soft");
      if (right - left > 16 * dpr) ctx.fillText(song.number, left + 3 * dpr, bbox.top + bbox.height - 2 * dpr);
    }
  });
}

function addHeatPanels() {
  if (set.heat.length === 0) return;
  const add = (title, key, limit) => {
    const values = set.heat.map(point => point[key]);
    const x = [...set.heat.map(point => point.from_s), songSeconds], y = [...values, values[values.length - 1]];
    addPanel({ title: `${title} (\u00b0C)`, height: 200, limit, range: warmRange(values, limit), stepped: true, under: shadeSongs,
               shown: () => ({ x, low: y, high: y }), valueAt: at => `${fixed(stretchAt(at)[key], 1)} \u00b0C` });
  };
  add("Junction, highest", "junction_c", "junction");
  add("Heatsink", "sink_c", "heatsink");
}

function addBusPanel() {
  const known = set.songs.filter(song => song.lowest_bus_v !== null);
  if (known.length === 0) return;
  const volts = known.map(song => song.lowest_bus_v), least = Math.min(...volts), most = Math.max(...volts);
  addPanel({
    title: "Bus, lowest of each song (V)", height: 130, range: [least - 0.1 * (most - least) - 0.5, most + 0.5], under: shadeSongs,
    shown: () => ({ x: [], low: [], high: [] }),
    draw: u => inPlot(u, (ctx, _, dpr) => {
      ctx.fillStyle = colour("--value");
      for (const song of known) {
        const left = u.valToPos(song.start_s, "x", true), right = u.valToPos(endOf(song), "x", true);
        ctx.fillRect(left, u.valToPos(song.lowest_bus_v, "y", true) - dpr, Math.max(2 * dpr, right - left), 2 * dpr);
      }
    }),
    valueAt: at => songAt(at) < 0 ? "pause" : `${tenths(set.songs[songAt(at)].lowest_bus_v)} V`,
  });
}

function showPlots() {
  addHeatPanels();
  addBusPanel();
  if (panels.length === 0) document.querySelector("section[aria-label='Over the evening']").hidden = true;
  startPlots();
}

function showOrder(plan, title, parent) {
  const box = element("div", undefined, parent);
  element("h3", title, box);
  const table = element("table", undefined, box);
  table.createTHead();
  table.createTBody();
  const last = plan.order.length - 1;
  fillTable(table, ["place", "song", "pause after", "in the file"], plan.order.map((number, i) => {
    const song = set.songs[number - 1];
    return [String(i + 1), `${number}. \u2068${nameOf(song)}\u2069`, i < last ? withUnit(plan.pause_after_s[i], "s") : "\u2013",
            number - 1 < last ? withUnit(song.pause_after_s, "s") : "\u2013"];
  }));
  for (const row of table.rows) row.cells[1].className = "name";
  element("p", `Pauses ${hours(plan.pauses_s)}, the evening ${hours(plan.length_s)}.`, box);
  for (const why of plan.impossible) element("p", `\u2717 ${why}`, box);
}

function showPlan() {
  if (!set.plan) return;
  document.getElementById("plan-section").hidden = false;
  const box = document.getElementById("plan"), { as_ordered, moves, reordered } = set.plan;
  for (const move of moves)
    element("p", `Move song ${move.song} ${named(set.songs[move.song - 1])} to place ${move.to_place}: saves about ${tenths(move.saves_s)} s of pauses.`, box);
  if (!reordered) element("p", "No other order that was tried wants shorter pauses.", box);
  const plans = element("div", undefined, box);
  plans.className = "plans";
  showOrder(as_ordered, "Shortest pauses, in this order", plans);
  if (reordered) showOrder(reordered, "Shortest pauses, after the moves", plans);
}

function listRemarks() {
  const list = document.getElementById("remarks");
  const say = text => element("li", text, list);
  for (const { limit, why } of set.evening.not_judged) say(`not judged: ${limit} (${why})`);
  for (const remark of [...set.remarks, ...set.evening.remarks]) say(remark);
  for (const song of set.songs)
    for (const remark of [...lostNotes(song), ...song.remarks]) say(`song ${song.number} ${named(song)}: ${remark}`);
  list.parentElement.hidden = list.children.length === 0;
}

function showLimits() {
  const table = document.getElementById("limits");
  listLimits(table, set.evening.limits, ({ at_s }) => {
    look(at_s - 30, at_s + 30);
    readOut(at_s);
  });
  listExceeded(document.getElementById("exceeded"), set.evening.spans, ({ from_s, until_s }) => {
    look(from_s - 30, until_s + 30);
    readOut(from_s);
  });
  if (set.evening.limits.length) asCards(table, [...table.tHead.rows[0].cells].map(cell => cell.textContent), 0);
}

function start() {
  sayHead();
  listSongs();
  showPlots();
  showLimits();
  showPlan();
  listRemarks();
  sayCautions(data.cautions);
  Object.assign(actions, { "song-before": () => lookAtSong(Math.max(0, songInHand - 1)),
                           "song-after": () => lookAtSong(Math.min(set.songs.length - 1, songInHand + 1)) });
  Object.assign(keys, { "p": "song-before", "n": "song-after" });
  listenToKeys();
  whenLooksChange(rebuild);
  document.documentElement.dataset.ready = "yes";
}
start();
