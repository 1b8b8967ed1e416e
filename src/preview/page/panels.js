// Plots that share one stretch of time. Each is a uPlot; what they show is worked out anew for each stretch.
//
// The page that uses them says: `songSeconds`, the whole time; `leastSeconds`, the shortest stretch to look at;
// `data.check`, limits and spans of what exceeds them; and does what it likes in `viewChanged()`, `pointedAt(seconds)`, `seek(seconds)`.

const view = { from: 0, until: 0 };
const panels = [];
const checkOf = name => data.check.limits.find(limit => limit.limit === name);
const spansOf = name => data.check.spans.filter(span => span.limit === name);

const digitsFor = width => Math.min(7, Math.max(0, Math.ceil(-Math.log10(width / 400))));

const columnsNow = () => Math.max(100, Math.min(1600, document.getElementById("plots").clientWidth));

function inPlot(u, draw) {
  const { ctx, bbox } = u;
  ctx.save();
  ctx.beginPath();
  ctx.rect(bbox.left, bbox.top, bbox.width, bbox.height);
  ctx.clip();
  draw(ctx, bbox, devicePixelRatio);
  ctx.restore();
}

function drawLimit(u, limit, words) {
  inPlot(u, (ctx, bbox, dpr) => {
    const y = u.valToPos(limit, "y", true);
    ctx.strokeStyle = ctx.fillStyle = colour("--limit");
    ctx.lineWidth = 1.5 * dpr;
    ctx.setLineDash([7 * dpr, 4 * dpr]);
    ctx.beginPath();
    ctx.moveTo(bbox.left, y);
    ctx.lineTo(bbox.left + bbox.width, y);
    ctx.stroke();
    ctx.font = `${12 * dpr}px system-ui, sans-serif`;
    ctx.textAlign = "right";
    ctx.textBaseline = "alphabetic";
    ctx.fillText(words, bbox.left + bbox.width - 4 * dpr, y + (y - bbox.top < 18 * dpr ? 14 : -4) * dpr);
  });
}

// Where the limit is exceeded: the ground tinted, a bar along the top, a triangle where it begins.
function drawExceeded(u, spans) {
  inPlot(u, (ctx, bbox, dpr) => {
    ctx.fillStyle = colour("--wrong");
    for (const { from_s, until_s } of spans) {
      if (until_s < view.from || from_s > view.until) continue;
      const x = u.valToPos(from_s, "x", true), width = Math.max(2 * dpr, u.valToPos(until_s, "x", true) - x);
      ctx.globalAlpha = 0.16;
      ctx.fillRect(x, bbox.top, width, bbox.height);
      ctx.globalAlpha = 1;
      ctx.fillRect(x, bbox.top, width, 4 * dpr);
      ctx.beginPath();
      ctx.moveTo(x - 5 * dpr, bbox.top);
      ctx.lineTo(x + 5 * dpr, bbox.top);
      ctx.lineTo(x, bbox.top + 11 * dpr);
      ctx.fill();
    }
  });
}

function drawBursts(u, shown) {
  inPlot(u, (ctx, bbox, dpr) => {
    const ground = u.valToPos(0, "y", true);
    for (let i = 0; i < shown.x.length; ++i) {
      const x = u.valToPos(shown.x[i], "x", true), right = u.valToPos(shown.end[i], "x", true);
      const top = u.valToPos(shown.high[i], "y", true), low = u.valToPos(shown.low[i], "y", true);
      const width = Math.max(dpr, right - x);
      ctx.fillStyle = colour("--band");
      if (!shown.exact) ctx.fillRect(x, low, width, ground - low);
      ctx.fillStyle = colour("--value");
      ctx.fillRect(x, top, width, Math.max(dpr, (shown.exact ? ground : low) - top));
    }
  });
}

function timeAxis() {
  return {
    stroke: colour("--soft"), grid: { stroke: colour("--line"), width: 1 }, ticks: { stroke: colour("--line") }, size: 28,
    values: (_, ticks) => {
      const step = ticks.length > 1 ? ticks[1] - ticks[0] : 0.1;
      let digits = 0;
      while (digits < 7 && Math.abs(step * 10 ** digits - Math.round(step * 10 ** digits)) > 1e-3) ++digits;
      return ticks.map(tick => clock(tick, digits));
    },
  };
}

// The y axis of temperatures: from the coolest, with room for the limit.
function warmRange(values, limit) {
  const least = values.reduce((a, b) => Math.min(a, b), Infinity), most = values.reduce((a, b) => Math.max(a, b), -Infinity);
  return [Math.floor(least - 2), 1.05 * Math.max(checkOf(limit)?.allowed ?? 0, most)];
}

// spec: title, unit, height, top (of the y axis) or range, limit?, shown(view) -> {x, low, high}, draw(u, shown)?,
// under(u)?, drawn before all else; valueAt(s) -> words?, axis? (of y)
function addPanel(spec) {
  const box = element("div", undefined, document.getElementById("plots"));
  box.className = "plot";
  const heading = element("h3", spec.title, box);
  const said = element("span", "", heading);
  const judged = spec.limit && checkOf(spec.limit);
  if (judged) said.textContent = `worst ${withUnit(judged.worst, judged.unit)}, allowed ${withUnit(judged.allowed, judged.unit)}`;
  const panel = { spec, box, said, rest: said.textContent, u: null, shown: null };
  panels.push(panel);
}

const plain = shown => shown.x.length ? [shown.x, shown.low, shown.high] : [[view.from, view.until], [null, null], [null, null]];

function build(panel) {
  const { spec } = panel;
  if (panel.u) panel.u.destroy();
  panel.shown = spec.shown(view.from, view.until, columnsNow());
  const line = { stroke: colour("--value"), width: 1.5, points: { show: false }, paths: spec.draw ? () => null : uPlot.paths.linear() };
  if (spec.stepped) line.paths = uPlot.paths.stepped({ align: 1 });
  const judged = spec.limit && checkOf(spec.limit);
  panel.u = new uPlot({
    width: panel.box.clientWidth, height: spec.height,
    padding: [8, 28, 0, 0],
    scales: { x: { time: false, range: () => [view.from, view.until] }, y: { distr: spec.log ? 3 : 1, range: () => spec.range } },
    axes: [timeAxis(), { stroke: colour("--soft"), grid: { stroke: colour("--line"), width: 1 }, ticks: { stroke: colour("--line") }, size: 58, values: (_, ticks) => ticks.map(figure), ...spec.axis }],
    series: [{}, { ...line }, { ...line }],
    bands: spec.draw ? [] : [{ series: [2, 1], fill: colour("--band") }],
    legend: { show: false },
    cursor: { sync: { key: "time", scales: ["x", null] }, drag: { x: true, y: false, setScale: false }, points: { show: false }, y: false },
    hooks: {
      setSelect: [u => {
        const { left, width } = u.select;
        if (width < 4) return;
        const from = u.posToVal(left, "x"), until = u.posToVal(left + width, "x");
        u.setSelect({ left: 0, width: 0, top: 0, height: 0 }, false);
        look(from, until);
      }],
      setCursor: [u => hovered(panel, u)],
      drawClear: [u => { if (spec.under) spec.under(u); }],
      draw: [u => {
        if (spec.draw) spec.draw(u, panel.shown);
        if (judged) drawLimit(u, judged.allowed, `limit ${withUnit(judged.allowed, judged.unit)}`);
        if (judged) drawExceeded(u, spansOf(spec.limit));
      }],
    },
  }, plain(panel.shown), panel.box);
  const over = panel.u.over;
  element("div", undefined, over).className = "playing";
  let pressedAt = 0;
  over.addEventListener("mousedown", event => { pressedAt = event.clientX; });
  over.addEventListener("click", event => {
    if (Math.abs(event.clientX - pressedAt) > 3) return;
    const at = panel.u.posToVal(panel.u.cursor.left, "x");
    if (spec.clicked) spec.clicked(at, panel.u.posToVal(panel.u.cursor.top, "y"));
    seek(at);
  });
  over.addEventListener("dblclick", () => look(0, songSeconds));
}

let waiting = false;
function look(from, until) {
  const width = Math.min(songSeconds, Math.max(leastSeconds, until - from));
  view.from = Math.min(Math.max(0, (from + until - width) / 2), songSeconds - width);
  view.until = view.from + width;
  if (waiting) return;
  waiting = true;
  requestAnimationFrame(() => { waiting = false; redraw(); });
}

function sayView() {
  const digits = digitsFor(view.until - view.from);
  document.getElementById("range").textContent =
      `${clock(view.from, digits)} to ${clock(view.until, digits)} of ${clock(songSeconds, 1)}`;
  viewChanged();
}

function redraw() {
  for (const panel of panels) {
    panel.shown = panel.spec.shown(view.from, view.until, columnsNow());
    panel.u.setData(plain(panel.shown));
  }
  sayView();
}

function startPlots() {
  view.until = songSeconds;
  rebuild();
}

function rebuild() {
  for (const panel of panels) build(panel);
  sayView();
}

// What a panel shows at a moment, in words.
function hovered(panel, u) {
  const inside = u.cursor.left >= 0;
  const at = inside ? u.posToVal(u.cursor.left, "x") : 0;
  panel.said.textContent = inside && panel.spec.valueAt ? panel.spec.valueAt(at) : panel.rest;
  if (inside && panel === panels[0]) pointedAt(at);
}
