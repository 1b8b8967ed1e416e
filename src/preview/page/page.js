// Puts the page together.

// Cividis at five of its points, as in the still pictures.
const levels = [[0, 32, 77], [65, 77, 107], [124, 123, 120], [188, 175, 111], [255, 234, 70]];
function levelColour(part) {
  const place = part * (levels.length - 1), low = Math.min(levels.length - 2, Math.floor(place)), share = place - low;
  return levels[low].map((value, i) => value + share * (levels[low + 1][i] - value));
}

function imageOf(spectrogram) {
  const letters = atob(spectrogram.levels), { columns, bands } = spectrogram;
  const canvas = document.createElement("canvas");
  canvas.width = columns;
  canvas.height = bands;
  const context = canvas.getContext("2d"), image = context.createImageData(columns, bands);
  const table = Array.from({ length: 256 }, (_, i) => levelColour(i / 255));
  for (let column = 0; column < columns; ++column)
    for (let band = 0; band < bands; ++band) {
      const at = 4 * ((bands - 1 - band) * columns + column), [r, g, b] = table[letters.charCodeAt(column * bands + band)];
      image.data[at] = r; image.data[at + 1] = g; image.data[at + 2] = b; image.data[at + 3] = 255;
    }
  context.putImageData(image, 0, 0);
  return canvas;
}

function addSpectrograms() {
  for (const spectrogram of JSON.parse(document.getElementById("spectrograms").textContent)) {
    const image = imageOf(spectrogram), letters = atob(spectrogram.levels);
    const { lowest_hz, highest_hz, length_s, columns, bands, top_db, shown_db } = spectrogram;
    addPanel({
      title: `Spectrogram of the ${spectrogram.name}`, height: 220, log: true, range: [lowest_hz, highest_hz],
      shown: () => ({ x: [], low: [], high: [] }),
      draw: u => inPlot(u, (ctx, bbox) => {
        const left = u.valToPos(0, "x", true), right = u.valToPos(length_s, "x", true);
        ctx.fillStyle = `rgb(${levels[0]})`;
        ctx.fillRect(bbox.left, bbox.top, bbox.width, bbox.height);
        // Only the part in view: a whole song drawn thousands of times too wide would be beyond canvases.
        const a = Math.max(0, (bbox.left - left) / (right - left)), b = Math.min(1, (bbox.left + bbox.width - left) / (right - left));
        if (b > a) ctx.drawImage(image, a * columns, 0, (b - a) * columns, bands, left + a * (right - left), bbox.top, (b - a) * (right - left), bbox.height);
      }),
      valueAt: seconds => {
        const column = Math.min(columns - 1, Math.floor(seconds / length_s * columns));
        if (column < 0 || seconds > length_s) return "silence";
        let best = 0;
        for (let band = 1; band < bands; ++band)
          if (letters.charCodeAt(column * bands + band) > letters.charCodeAt(column * bands + best)) best = band;
        const level = letters.charCodeAt(column * bands + best);
        if (level === 0) return "silence";
        const hz = lowest_hz * (highest_hz / lowest_hz) ** ((best + 0.5) / bands);
        return `strongest here: ${withUnit(hz, "Hz")} at ${fixed(top_db - shown_db * (1 - level / 255), 0)} dB`;
      },
      axis: { values: (_, ticks) => ticks.map(hz => hz === null ? "" : hz >= 1000 ? `${hz / 1000} kHz` : `${hz} Hz`) },
    });
    const panel = panels[panels.length - 1];
    panel.said.textContent = panel.rest = `bright: ${fixed(top_db, 0)} dB, dark: ${fixed(top_db - shown_db, 0)} dB and less`;
  }
}

const inWords = (shown, at, unit) => {
  let i = shown.x.findIndex(x => x > at);
  i = i < 0 ? shown.x.length - 1 : Math.max(0, i - 1);
  if (i < 0) return "";
  return shown.low[i] === shown.high[i] ? withUnit(shown.high[i], unit) : `${figure(shown.low[i])} to ${withUnit(shown.high[i], unit)} around here`;
};

// The y axis: room for the limit and for the most there is.
const upTo = (limit, most) => [0, 1.12 * Math.max(checkOf(limit)?.allowed ?? 0, most, 1e-9)];

function addBurstPanels() {
  const onTime = i => bursts.on[i] * 1e6 / data.tick_hz;
  let longest = 0;
  for (let i = 0; i < bursts.count; ++i) longest = Math.max(longest, onTime(i));
  const oneBurst = (valueOf, unit) => at => {
    const i = nearestBurst(at * data.tick_hz);
    return i < 0 ? "" : withUnit(valueOf(i), unit);
  };
  const panel = (title, unit, limit, valueOf, most) => addPanel({
    title: `${title} (${shownUnit(unit)})`, height: 130, limit, range: upTo(limit, most), draw: drawBursts,
    shown: (from, until, columns) => burstsOf(valueOf, from, until, columns), valueAt: oneBurst(valueOf, unit),
  });
  panel("On-time", "us", "on-time max", onTime, longest);
  return () => {
    const known = bursts.peak.filter(a => !Number.isNaN(a));
    if (known.length) panel("Peak current", "A", "peak current", i => bursts.peak[i], known.reduce((a, b) => Math.max(a, b), 0));
  };
}

function addRunningPanels() {
  const hz = data.tick_hz;
  const add = (title, unit, limit, quantity) => {
    const most = checkOf(limit)?.worst ?? curveOf(quantity, 0, songSeconds, 400).high.reduce((a, b) => Math.max(a, b), 0);
    addPanel({
      title: `${title} (${shownUnit(unit)})`, height: 130, limit, range: upTo(limit, most), stepped: quantity.steps,
      shown: (from, until, columns) => curveOf(quantity, from, until, columns),
      valueAt: at => withUnit(quantity.value()(Math.round(at * hz)), unit),
    });
  };
  const tenth = Math.ceil(hz / 10);
  add("Break rate", "Hz", "break rate", { window: tenth, steps: true, value: startsWithin(tenth, 10) });
  for (const [ms] of data.profile_limits.duty) {
    const ticks = ms / 1000 * hz, window = Math.max(1, Math.ceil(ticks - 1e-6));
    add(`Duty, ${ms} ms`, "%", `duty ${ms} ms`, { window, steps: false, value: windowSum(bursts.onBefore, window, 100 / ticks) });
  }
  if (bursts.energyBefore[bursts.count] > 0)
    add("Supply, mean of a second", "W", "supply", { window: hz, steps: false, value: windowSum(bursts.energyBefore, hz, 1) });
}

function addEnergyPanels() {
  const add = (title, unit, values, limit, worst, range) => {
    if (values.length === 0) return;
    addPanel({
      title: `${title} (${shownUnit(unit)})`, height: 130, limit, range, stepped: true,
      shown: (from, until, columns) => stretchesOf(values, from, until, columns, worst),
      valueAt: at => inWords(stretchesOf(values, view.from, view.until, columnsNow(), worst), at, unit),
    });
  };
  add("Junction", "C", data.junction_c, "junction", Math.max, warmRange(data.junction_c, "junction"));
  add("Heatsink", "C", data.heatsink_c, "heatsink", Math.max, warmRange(data.heatsink_c, "heatsink"));
  const lowest = data.bus_v.reduce((a, b) => Math.min(a, b), Infinity), highest = data.bus_v.reduce((a, b) => Math.max(a, b), 0);
  add("Bus", "V", data.bus_v, undefined, Math.min, [lowest - 0.1 * (highest - lowest) - 0.5, highest + 0.5]);
}

function viewChanged() {
  showPlaying();
  showChanges();
}

function sayVerdict() {
  const { check } = data;
  document.getElementById("title").textContent = data.title || data.source;
  showVerdict(document.getElementById("verdict"), check.verdict, data.sentence);
  document.getElementById("whose").textContent = `This stream was ${data.limits}.`;
  document.getElementById("about").textContent =
      `${grouped(bursts.count)} bursts in ${clock(songSeconds, 1)} from ${data.source}. ` +
      (check.may_loop ? "May play in a loop, as far as the judged limits go."
       : check.rest_before_repeat_s === null ? "" : `Before it may start again: a rest of at least ${withUnit(check.rest_before_repeat_s, "s")}.`);
}

function sayLimits() {
  const { check } = data;
  listLimits(document.getElementById("limits"), check.limits, limit => {
    const i = nearestBurst(limit.at_s * data.tick_hz), width = Math.min(songSeconds, 0.1);
    look(limit.at_s - width / 2, limit.at_s + width / 2);
    goToBurst(i);
  });
  listExceeded(document.getElementById("exceeded"), check.spans, ({ from_s, until_s }) => {
    const room = Math.max(0.05, 0.2 * (until_s - from_s));
    look(from_s - room, until_s + room);
    goToBurst(nearestBurst(from_s * data.tick_hz));
  });
  const remarks = document.getElementById("remarks");
  for (const name of check.not_judged) element("li", `not judged: ${name} (${check.not_judged_why[name]})`, remarks);
  for (const remark of check.remarks) element("li", remark, remarks);
}

function listTables() {
  fillTable(document.getElementById("tables"), ["target", "table", "of the flash", ""], data.tables.map(table => [
    `${table.target} (${table.chip})`, table.refused ? "" : `${grouped(table.table_bytes)} bytes`,
    table.refused ? "" : `${grouped(table.flash_used)} of ${grouped(table.flash_of)} bytes, ${Math.ceil(100 * table.flash_used / table.flash_of)} %`,
    table.refused || (table.flash_used <= table.flash_of ? "fits" : `fits until ${clock(table.fits_until_s, 1)}: export an excerpt`)]));
}

let gatePlot = null;
function drawGate() {
  const box = document.getElementById("gate"), { hz, db } = data.gate;
  if (gatePlot) gatePlot.destroy();
  const most = db.reduce((a, b) => Math.max(a, b), -140);
  gatePlot = new uPlot({
    width: box.clientWidth, height: 240, padding: [8, 28, 0, 0],
    scales: { x: { time: false, distr: 3, range: () => [hz[0] ?? 20, hz[hz.length - 1] ?? 20000] }, y: { range: () => [Math.max(-140, most - 90), Math.min(5, most + 5)] } },
    axes: [{ stroke: colour("--soft"), grid: { stroke: colour("--line"), width: 1 }, size: 28,
             values: (_, ticks) => ticks.map(tick => tick === null ? "" : tick >= 1000 ? `${tick / 1000} kHz` : `${tick} Hz`) },
           { stroke: colour("--soft"), grid: { stroke: colour("--line"), width: 1 }, size: 58, values: (_, ticks) => ticks.map(tick => `${tick} dB`) }],
    series: [{ value: (_, x) => x === null ? "" : `${withUnit(x, "Hz")}`, label: "at" }, { stroke: colour("--value"), width: 1.5, label: "level", points: { show: false }, value: (_, y) => y === null ? "" : `${fixed(y, 1)} dB` }],
  }, [hz, db], box);
}

function start() {
  sayVerdict();
  const addPeak = addBurstPanels();
  addRunningPanels();
  addPeak();
  addEnergyPanels();
  addNotes();
  addSpectrograms();
  addPlayers();
  sayLimits();
  listTables();
  sayCautions(data.cautions);
  startPlots();
  drawGate();
  listenToKeys();
  playBySpace();
  whenLooksChange(() => { rebuild(); drawGate(); });
  document.documentElement.dataset.ready = "yes";
}
start();
