// Quantities over time, worked out from the bursts for whatever stretch is looked at.

// Running integral of something spread evenly over each burst, up to a tick: asked in rising order.
function spreadUpTo(before) {
  let next = 0;
  return tick => {
    while (next < bursts.count && bursts.start[next] + bursts.on[next] <= tick) ++next;
    while (next > 0 && bursts.start[next - 1] + bursts.on[next - 1] > tick) --next;
    const inside = next < bursts.count ? Math.min(1, Math.max(0, (tick - bursts.start[next]) / bursts.on[next])) : 0;
    return before[next] + (inside ? inside * (before[next + 1] - before[next]) : 0);
  };
}

// Of what lies in [t - window, t), times `scale`. Straight lines between corners.
function windowSum(before, window, scale) {
  return () => {
    const head = spreadUpTo(before), tail = spreadUpTo(before);
    return t => (head(t) - tail(t - window)) * scale;
  };
}

// Starts within (t - window, t], times `scale`. Steps.
function startsWithin(window, scale) {
  return () => t => (startedBefore(t + 1) - startedBefore(t - window + 1)) * scale;
}

// Calls `visit` with all ticks in (from, until) where a quantity with this window bends, in order: edges of bursts
// (starts alone for steps), and the same a window later.
function visitCorners(from, until, { window, steps }, visit) {
  const { start, on, count } = bursts;
  const perBurst = steps ? 1 : 2, edges = perBurst * count;
  const edge = steps ? i => start[i] : i => i & 1 ? start[i >> 1] + on[i >> 1] : start[i >> 1];
  const firstAfter = tick => {
    let i = perBurst * Math.max(0, startedBefore(tick) - 1);
    while (i < edges && edge(i) <= tick) ++i;
    return i;
  };
  let a = firstAfter(from), b = firstAfter(from - window);
  let atA = a < edges ? edge(a) : Infinity, atB = b < edges ? edge(b) + window : Infinity;
  for (let at = Math.min(atA, atB); at < until; at = Math.min(atA, atB)) {
    if (atA === at) atA = ++a < edges ? edge(a) : Infinity;
    if (atB === at) atB = ++b < edges ? edge(b) + window : Infinity;
    visit(at);
  }
}

// { x (s), low, high, exact }: every corner where there are few, else least and greatest of each column.
function curveOf(quantity, from, until, columns) {
  const value = quantity.value();
  const first = Math.floor(from * data.tick_hz), last = Math.ceil(until * data.tick_hz);
  const inside = startedBefore(last) - startedBefore(first) +
                 startedBefore(last - quantity.window) - startedBefore(first - quantity.window);
  const x = [], low = [], high = [];
  if (inside <= 2 * columns) {
    const add = tick => { const y = value(tick); x.push(secondsOf(tick)); low.push(y); high.push(y); };
    add(first);
    visitCorners(first, last, quantity, add);
    add(last);
    return { x, low, high, exact: true };
  }
  const endOf = column => first + (last - first) * (column + 1) / columns;
  let column = 0, end = endOf(0), before = value(first), least = before, most = before;
  const close = () => {
    x.push(secondsOf((end + endOf(column - 1)) / 2)); low.push(least); high.push(most);
    least = most = before;
    end = endOf(++column);
  };
  visitCorners(first, last, quantity, tick => {
    while (tick > end) close();
    before = value(tick);
    if (before < least) least = before;
    if (before > most) most = before;
  });
  while (column < columns) close();
  return { x, low, high, exact: false };
}

// One value a burst, as { x, low, high, until }: each burst with its own width, or the extremes of each column.
function burstsOf(valueOf, from, until, columns) {
  const first = Math.max(0, startedBefore(from * data.tick_hz) - 1), past = startedBefore(until * data.tick_hz);
  const x = [], low = [], high = [], end = [];
  const exact = past - first <= 2 * columns;
  if (exact) {
    for (let i = first; i < past; ++i) {
      const y = valueOf(i);
      x.push(secondsOf(bursts.start[i])); end.push(secondsOf(bursts.start[i] + bursts.on[i])); low.push(y); high.push(y);
    }
    return { x, low, high, end, exact };
  }
  const width = (until - from) / columns;
  for (let i = first; i < past;) {
    const column = Math.floor((secondsOf(bursts.start[i]) - from) / width), stop = from + (column + 1) * width;
    let least = Infinity, most = -Infinity;
    do {
      const y = valueOf(i++);
      if (y < least) least = y;
      if (y > most) most = y;
    } while (i < past && secondsOf(bursts.start[i]) < stop);
    x.push(from + column * width); end.push(stop); low.push(least); high.push(most);
  }
  return { x, low, high, end, exact };
}

// A curve that came with the page: one value a stretch, the worst in it.
function stretchesOf(values, from, until, columns, worst) {
  const size = values.length, each = songSeconds / size;
  const first = Math.max(0, Math.floor(from / each)), past = Math.min(size, Math.ceil(until / each));
  const together = Math.max(1, Math.ceil((past - first) / columns));
  const x = [], high = [];
  for (let i = first; i < past; i += together) {
    let y = values[i];
    for (let k = i + 1; k < Math.min(past, i + together); ++k) y = worst(y, values[k]);
    x.push(i * each); high.push(y);
  }
  if (past > first) { x.push(past * each); high.push(high[high.length - 1]); }
  return { x, low: high, high, exact: true };
}
