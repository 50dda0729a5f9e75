"use strict";
(() => {
  const data = JSON.parse(document.getElementById("data").textContent);
  const $ = id => document.getElementById(id);
  const text = n => data.texts[n];
  const make = (tag, words, more) => Object.assign(document.createElement(tag),
    words == null ? {} : {textContent: words},
    more || {});
  const minus = s => String(s).replace("-", "\u2212");

  // Rows, with texts in the place of their numbers. Links lead to the paths at which reports were found, nowhere else.
  const link = path => path.split("/").map(encodeURIComponent).join("/");
  const rows = data.rows.map((r, i) => {
    const [of, unit] = text(r[8]).split("\0");
    const o = {i, report: r[0], unit: r[1], lot: text(r[2]), bench: text(r[3]), day: text(r[4]), verdict: text(r[5]),
      state: text(r[6]), margin: r[7] === "" ? NaN : Number(r[7]), shown: r[7], of: of || "", dB: unit || "",
      number: r[9], causes: text(r[10]), says: text(r[11]), title: text(r[12]), part: text(r[13]),
        measured: text(r[14]), chain: minus(text(r[15]))};
    o.search = [o.report, o.unit, o.lot, o.bench, o.measured, o.verdict, o.state, o.number, o.causes, o.says, o.title,
      o.part, o.of, o.chain].join("\n").toLowerCase();
    return o;
  });

  const natural = new Intl.Collator("en", {numeric: true}).compare;
  const rank = {fail: 0, undecided: 1, "not examined": 2, "": 3, pass: 4};
  const columns = [
    {head: "Unit", key: "unit"}, {head: "Lot", key: "lot"}, {head: "Bench", key: "bench"},
    {head: "Measured", key: "day"},
    {head: "Verdict", key: "verdict", by: (a, b) => (rank[a.verdict] ?? 2) - (rank[b.verdict] ?? 2)},
    {head: "State", key: "state"},
    {head: "Least margin", key: "margin",
      by: (a, b) => isNaN(a.margin) ? (isNaN(b.margin) ? 0 : 1) : isNaN(b.margin) ? -1 : a.margin - b.margin},
    {head: "Of, or why", key: "of"}, {head: "Report", key: "report"},
  ];
  let order = {key: "", down: false}, shown = rows, chosen = 0;

  const table = $("table"), head = $("head"), list = $("rows");
  columns.forEach((c, n) => {
    const cell = make("div", null, {role: "columnheader"});
    cell.setAttribute("role", "columnheader");
    const b = make("button", c.head, {type: "button"});
    b.addEventListener("click", () => sort(n));
    cell.append(b);
    head.append(cell);
    c.cell = cell; c.button = b;
  });

  function sort(n) {
    const c = columns[n];
    order = {key: c.key, down: order.key === c.key && !order.down};
    columns.forEach(o => {
      const on = o.key === order.key;
      o.button.textContent = o.head + (on ? (order.down ? " \u25bc" : " \u25b2") : "");
      if (on) o.cell.setAttribute("aria-sort", order.down ? "descending" : "ascending");
      else o.cell.removeAttribute("aria-sort");
    });
    refresh();
  }

  function sorted(some) {
    const c = columns.find(c => c.key === order.key);
    if (!c) return some;
    const by = c.by || ((a, b) => natural(a[c.key], b[c.key])), sign = order.down ? -1 : 1;
    return some.slice().sort((a, b) => sign * by(a, b) || a.i - b.i);
  }

  // Filters.
  function options(select, values, all) {
    select.append(make("option", all, {value: "\u0000"}));
    values.forEach(v => select.append(make("option", v === "" ? "(none)" : v, {value: v})));
  }
  const different = key => [...new Set(rows.map(r => r[key]))].sort(natural);
  for (const key of ["verdict", "state", "lot", "bench"]) options($(key), different(key), "all");
  function filtered() {
    const words = $("search").value.toLowerCase().split(/\s+/).filter(Boolean);
    const is = ["verdict", "state", "lot", "bench"].map(k => [k, $(k).value]).filter(p => p[1] !== "\u0000");
    const from = $("from").value, to = $("to").value;
    return rows.filter(r => is.every(p => r[p[0]] === p[1]) && (!from || r.day >= from) &&
      (!to || r.day !== "" && r.day <= to) && words.every(w => r.search.includes(w)));
  }
  const many = (n, one) => n + " " + one + (n === 1 ? "" : "s");
  function refresh() {
    shown = sorted(filtered());
    chosen = 0;
    table.setAttribute("aria-rowcount", shown.length + 1);
    $("count").textContent = shown.length === rows.length ? many(rows.length, "row") :
      shown.length + " of " + many(rows.length, "row");
    list.style.height = shown.length * height() + "px";
    table.scrollTop = 0;
    draw();
  }

  // Only the rows in sight are in the page.
  const narrow = matchMedia("(max-width: 40rem)");
  const height = () => narrow.matches ? 84 : 32;
  function draw() {
    const h = height(), first = Math.max(0, Math.floor(table.scrollTop / h) - 5);
    const last = Math.min(shown.length, Math.ceil((table.scrollTop + table.clientHeight) / h) + 5);
    const some = [];
    for (let n = first; n < last; n++) some.push(line(n, h));
    list.replaceChildren(...some);
    if (shown.length) table.setAttribute("aria-activedescendant", "row-" + chosen);
    else table.removeAttribute("aria-activedescendant");
  }
  function line(n, h) {
    const r = shown[n], d = make("div", null, {id: "row-" + n, className: n === chosen ? "row chosen" : "row"});
    d.setAttribute("role", "row");
    d.setAttribute("aria-rowindex", n + 2);
    d.setAttribute("aria-selected", n === chosen);
    d.style.top = n * h + "px";
    const cell = (words, title) => {
      const c = make("div", words);
      c.setAttribute("role", "gridcell");
      if (title) c.title = title;
      d.append(c);
      return c;
    };
    cell(r.unit || "\u2013", r.title);
    cell(narrow.matches && r.lot ? "lot " + r.lot : r.lot);
    cell(r.bench);
    cell(r.day || r.measured, r.measured);
    cell(r.verdict, r.causes).dataset.outcome = r.verdict;
    cell(r.state, r.says).dataset.outcome = r.state;
    cell(r.shown === "" ? "" : minus(r.shown) + " " + r.dB, r.of);
    const about = [r.state === "current" ? r.causes || r.of : r.says, r.chain].filter(s => s);
    cell(about.join("; "), [r.says || r.causes || r.of, r.chain].filter(s => s).join("; "));
    const last = cell(null, r.report);
    if (r.state === "failed") last.textContent = r.report;
    else last.append(make("a", r.number || r.report, {href: link(r.report), tabIndex: -1}));
    d.addEventListener("click", () => { chosen = n; draw(); });
    return d;
  }
  let waiting = false;
  table.addEventListener("scroll", () => {
    if (!waiting) requestAnimationFrame(() => { waiting = false; draw(); });
    waiting = true;
  });
  function choose(n) {
    chosen = Math.max(0, Math.min(shown.length - 1, n));
    const h = height(), top = chosen * h, bar = head.offsetHeight;
    if (top < table.scrollTop) table.scrollTop = top;
    if (top + h + bar > table.scrollTop + table.clientHeight) table.scrollTop = top + h + bar - table.clientHeight;
    draw();
  }
  table.addEventListener("keydown", e => {
    if (e.target !== table || e.ctrlKey || e.altKey || e.metaKey) return;
    const page = Math.max(1, Math.floor(table.clientHeight / height()) - 2);
    const to = {ArrowDown: chosen + 1, ArrowUp: chosen - 1, PageDown: chosen + page, PageUp: chosen - page, Home: 0,
      End: shown.length - 1}[e.key];
    if (to !== undefined) { e.preventDefault(); choose(to); }
    if (e.key === "Enter" && shown[chosen] &&
      shown[chosen].state !== "failed") location.href = link(shown[chosen].report);
  });
  document.addEventListener("keydown", e => {
    if (e.key === "/" && !/^(INPUT|SELECT|TEXTAREA)$/.test(e.target.tagName)) { e.preventDefault();
      $("search").focus(); }
  });
  $("filters").addEventListener("input", () => refresh());
  $("filters").addEventListener("submit", e => e.preventDefault());
  $("filters").addEventListener("reset", () => setTimeout(refresh));
  narrow.addEventListener("change", refresh);
  addEventListener("resize", () => { draw(); plot(); });

  // What stands above the table.
  const counted = key => {
    const n = new Map();
    rows.forEach(r => n.set(r[key], (n.get(r[key]) || 0) + 1));
    return n;
  };
  const verdicts = counted("verdict"), states = counted("state");
  $("summary").textContent = many(rows.length, "row") + ": " + [...verdicts].filter(v => v[0]).map(v => v[1] + " " +
    v[0])
    .concat([...states].filter(s => s[0] !== "current").map(s => s[1] + " " + s[0])).join(", ") +
    (data.planned ? "" : ". Made without a plan: stale, failed and orphaned reports are not known");
  if (data.changed) {
    $("last").hidden = false;
    $("last-title").textContent = "Changes of " + data.changed;
    list_(data.changes.map(c => [c[1] ? "unit " + c[1] : "", c[0], c[2]].filter(Boolean).join(", ")), $("changes"));
  }
  const attention = rows.filter(r => r.state === "failed" || r.state === "stale" || r.state === "orphaned")
    .map(r => r.report + ": " + r.state + ": " + r.says).concat(data.problems.map(p => p[0] + ": " + p[1]));
  if (attention.length) {
    $("attention").hidden = false;
    list_([...new Set(attention)], $("problems"));
  }
  function list_(lines, into) {
    const most = 500;
    lines.slice(0, most).forEach(l => into.append(make("li", l)));
    if (lines.length > most) into.append(make("li", "and " + (lines.length - most) + " more"));
  }

  // Characteristics over units and lots.
  const series = data.series;
  let now = null, values = [], at = -1;
  const called = s => s.name + (s.at ? ", " + s.at : "") + (s.kind === "limit" ? ", " + s.rule + " " + s.limit + " " +
    s.unit : " (fitted), " + s.limit + (s.tolerance ? " \u00b1 " + s.tolerance : "") + " " + s.unit);
  function scope() {
    const s = series[$("series").value], lot = $("scope").value;
    const l = s.lots.find(l => l.lot === lot && $("scope").selectedIndex > 0);
    now = {s, of: l || s.all, lot: l ? l.lot : ""};
    values = l ? l.of.map(i => [s.values[i], s.rows[i]]) : s.values.map((v, i) => [v, s.rows[i]]);
    at = -1;
    $("point").textContent = "";
    plot();
    capability();
  }
  function lots() {
    const s = series[$("series").value], before = $("scope").value;
    $("scope").replaceChildren(make("option", "all", {value: "\u0000"}));
    s.lots.forEach(l => $("scope").append(make("option", l.lot || "(none)", {value: l.lot})));
    const wanted = [...$("scope").options].findIndex(o => o.value === before);
    $("scope").selectedIndex = Math.max(0, wanted);
    scope();
  }
  const digits = (v, more) => v == null ? "\u2013" : minus(v.toFixed(Math.min(12, now.s.decimals + (more || 0))));
  const two = v => v == null ? "\u2013" : minus(v.toFixed(2));

  function frame(canvas) {
    const of = now.of, s = now.s, limit = Number(s.limit.replace("\u2212", "-"));
    const tolerance = Number((s.tolerance || "").replace("\u2212", "-"));
    const limits = s.kind === "limit" ? [limit] : s.tolerance ? [limit - tolerance, limit + tolerance] : [];
    let low = Infinity, high = -Infinity;
    for (const [v] of values) { low = Math.min(low, v); high = Math.max(high, v); }
    for (const v of [of.lower, of.upper]) if (v != null) { low = Math.min(low, v); high = Math.max(high, v); }
    const reach = high - low || Math.abs(high) || 1;
    for (const l of limits) if (l > low - 2 * reach && l < high + 2 * reach) {
      low = Math.min(low, l); high = Math.max(high, l);
    }
    const edge = (high - low || 1) * 0.06;
    low -= edge; high += edge;
    const left = 76, right = canvas.clientWidth - 12, top = 12, bottom = canvas.clientHeight - 34;
    return {left, right, top, bottom, low, high, limits, x: i => left + (right - left) * (i + 1) / (values.length + 1),
      y: v => bottom - (bottom - top) * (v - low) / (high - low)};
  }
  function plot() {
    if (!now) return;
    const canvas = $("chart"), scale = devicePixelRatio || 1;
    canvas.width = canvas.clientWidth * scale; canvas.height = canvas.clientHeight * scale;
    const c = canvas.getContext("2d"), f = frame(canvas), css = getComputedStyle(document.body);
    const ink = css.color, quiet = css.getPropertyValue("--quiet"), fail = css.getPropertyValue("--fail");
    const blue = css.getPropertyValue("--link"), of = now.of;
    c.scale(scale, scale);
    c.font = "13px " + css.fontFamily;
    const across = (v, color, dash, width) => {
      if (v == null || v < f.low || v > f.high) return;
      c.strokeStyle = color; c.lineWidth = width || 1; c.setLineDash(dash);
      c.beginPath(); c.moveTo(f.left, f.y(v)); c.lineTo(f.right, f.y(v)); c.stroke();
    };
    c.strokeStyle = quiet; c.strokeRect(f.left, f.top, f.right - f.left, f.bottom - f.top);
    c.fillStyle = ink; c.textAlign = "right"; c.textBaseline = "middle";
    for (let k = 0; k <= 4; k++) {
      const v = f.low + (f.high - f.low) * (0.06 + 0.88 * k / 4);
      c.fillText(digits(v, f.high - f.low < 0.1 ? 1 : 0), f.left - 6, f.y(v));
    }
    c.textAlign = "center";
    c.fillText("units in the order of measurement, 1 to " + values.length + (now.s.unit ? "; " + now.s.unit : ""),
      (f.left + f.right) / 2, f.bottom + 18);
    for (const s of of.steps) {
      c.strokeStyle = quiet; c.setLineDash([]); c.beginPath();
      const x = (f.x(s[0]) + f.x(s[0] - 1)) / 2; c.moveTo(x, f.top); c.lineTo(x, f.bottom); c.stroke();
    }
    f.limits.forEach(l => across(l, fail, [], 2));
    across(of.mean, quiet, [7, 5]);
    across(of.lower, fail, [9, 4, 2, 4]);
    across(of.upper, fail, [9, 4, 2, 4]);
    c.setLineDash([]); c.fillStyle = blue;
    const r = values.length > 2000 ? 1 : values.length > 300 ? 1.6 : 3;
    values.forEach((v, i) => { c.beginPath(); c.arc(f.x(i), f.y(v[0]), r, 0, 7); c.fill(); });
    c.strokeStyle = c.fillStyle = fail; c.lineWidth = 1.2;
    const q = values.length > 300 ? 3 : 5, crowded = of.signals.length > 500;
    for (const i of of.signals) { // so many squares would hide the values
      if (crowded) { c.beginPath(); c.arc(f.x(i), f.y(values[i][0]), r, 0, 7); c.fill(); }
      else c.strokeRect(f.x(i) - q, f.y(values[i][0]) - q, 2 * q, 2 * q);
    }
    if (at >= 0) {
      c.strokeStyle = ink; c.lineWidth = 2; c.beginPath(); c.arc(f.x(at), f.y(values[at][0]), 7, 0, 7); c.stroke();
    }
    canvas.setAttribute("aria-label", "Control chart of " + called(now.s) + (now.lot ? ", lot " + now.lot : "") + ": " +
      many(values.length, "unit") + ", mean " + digits(of.mean, 1) + "; " + (of.rules || "no signal"));
  }
  function point(i) {
    if (!now || !values.length) return;
    at = Math.max(0, Math.min(values.length - 1, i));
    const r = rows[values[at][1]];
    $("point").textContent = (at + 1) + " of " + values.length + ": " + digits(values[at][0]) + " " + now.s.unit +
      ", unit " + (r.unit || r.report) + (r.lot ? ", lot " + r.lot : "") + (r.bench ? ", " + r.bench : "") +
      (r.measured ? ", " + r.measured : "") + (now.of.signals.includes(at) ? "; signal of the control chart" : "");
    plot();
  }
  $("chart").addEventListener("keydown", e => {
    const to = {ArrowRight: at + 1, ArrowLeft: at - 1, PageDown: at + 25, PageUp: at - 25, Home: 0,
      End: values.length - 1};
    if (e.key in to) { e.preventDefault(); point(to[e.key]); }
  });
  $("chart").addEventListener("pointermove", e => {
    if (!now) return;
    const f = frame($("chart"));
    point(Math.round((e.offsetX - f.left) / (f.right - f.left) * (values.length + 1) - 1));
  });

  function capability() {
    const of = now.of, lines = [];
    lines.push(many(of.n, "unit") + ", mean " + digits(of.mean, 1) + " " + now.s.unit + ", standard deviation " +
      digits(of.s, 1) + " " + now.s.unit + (now.s.bounds ? "; left out because the readings give only a bound: " +
      now.s.bounds : "") + ".");
    if (of.lower != null) lines.push("Control chart: " + (of.rules || "no signal") + (of.trial ?
      " (trial limits, from fewer than 20 values)" : "") + ".");
    for (const s of of.steps) {
      const r = rows[values[s[0]][1]];
      lines.push("The mean steps from " + digits(s[1], 1) + " to " + digits(s[2], 1) + " " + now.s.unit + " at unit " +
        (r.unit || r.report) + (r.measured ? ", measured " + r.measured : "") + " (p " + (s[3] < 0.001 ? "< 0.001" :
        "= " + s[3].toFixed(3)) + ").");
    }
    $("found").replaceChildren(...lines.map(l => make("p", l)));
    const t = $("capability"), thead = make("thead"), tr = make("tr"), tbody = make("tbody");
    ["Lot", "Units", "Mean", "Standard deviation", "Cpk", "95 % interval", "At least", "Process"].forEach(h => {
      const th = make("th", h);
      th.scope = "col";
      tr.append(th);
    });
    thead.append(tr);
    const entry = (name, o) => {
      const line = make("tr"), th = make("th", name);
      th.scope = "row";
      line.append(th, make("td", o.n), make("td", digits(o.mean, 1)), make("td", digits(o.s, 1)), make("td",
        two(o.cpk)),
        make("td", o.low == null ? "\u2013" : two(o.low) + " to " + two(o.high)), make("td", two(o.least)),
        make("td", o.lower == null ? "too few units" : o.stable ? "no signal" + (o.trial ? ", trial limits" : "") :
          [o.rules, o.steps.length ? many(o.steps.length, "step") : ""].filter(Boolean).join("; ")));
      tbody.append(line);
    };
    entry("all", now.s.all);
    now.s.lots.slice(0, 1000).forEach(l => entry(l.lot || "(none)", l));
    t.replaceChildren(make("caption", "Capability, " + called(now.s) + " (" + now.s.unit + ")"), thead, tbody);
  }
  refresh();
  if (series.length) {
    $("history").hidden = false;
    series.forEach((s, i) => $("series").append(make("option", called(s), {value: i})));
    $("series").addEventListener("change", lots);
    $("scope").addEventListener("change", scope);
    $("choose").addEventListener("submit", e => e.preventDefault());
    lots();
  }
})();
