// Numbers read off a figure: with the pointer, or with the keys when the figure has the focus. Data comes from a script
// element of the type application/json in the same figure (package readout says what it holds); values are shown as
// they are there, which is as the report prints them. Nothing is fetched and nothing is kept.
(function () {
  "use strict";
  const SVG = "http://www.w3.org/2000/svg";
  const KEYS = "Arrow keys: next point, next curve. Plus and minus: enlarge, reduce. Shift with arrows: move. " +
    "Zero: whole range. Escape: leave. With a pointer: drag a frame to enlarge it, double-click for the whole range.";

  function make(name, attributes, parent) {
    const e = document.createElementNS(SVG, name);
    for (const k in attributes) e.setAttribute(k, attributes[k]);
    if (parent) parent.appendChild(e);
    return e;
  }
  function add(name, parent, text) {
    const e = document.createElement(name);
    if (text) e.textContent = text;
    parent.appendChild(e);
    return e;
  }

  // An axis between two places on the drawing; what is in view is kept as logarithms where the axis is logarithmic.
  function scale(axis, from, to) {
    const f = axis.g ? Math.log10 : function (v) { return v; };
    const s = { whole: [f(axis.a), f(axis.b)], axis: axis };
    s.view = s.whole.slice();
    s.at = function (v) { return from + (f(v) - s.view[0]) / (s.view[1] - s.view[0]) * (to - from); };
    s.inverse = function (p) { return s.view[0] + (p - from) / (to - from) * (s.view[1] - s.view[0]); };
    s.value = function (t) { return axis.g ? Math.pow(10, t) : t; };
    return s;
  }
  function number(v, decimals) {
    return v.toFixed(decimals).replace(/^-(0\.?0*)$/, "$1").replace("-", "\u2212");
  }
  function trimmed(v, decimals) {
    const s = number(v, decimals);
    return s.indexOf(".") < 0 ? s : s.replace(/\.?0+$/, "");
  }
  function withUnit(s, axis) { return axis.u ? s + "\u00a0" + axis.u : s; }

  // Round values for the marks of an axis, 1, 2 or 5 of a power of ten apart.
  function ticks(s) {
    const low = s.view[0], high = s.view[1], rough = (high - low) / 6;
    const power = Math.pow(10, Math.floor(Math.log10(rough)));
    let step = [1, 2, 5, 10].find(function (k) { return k * power >= rough * 0.999; }) * power;
    if (s.axis.g && high - low > 2) step = Math.max(1, Math.round(step));
    const out = [], decimals = Math.max(0, Math.min(9, Math.ceil(-Math.log10(step) - 1e-9)));
    for (let k = Math.ceil(low / step - 1e-9); k * step <= high + step * 1e-9; k++) {
      const v = s.value(k * step);
      out.push({ v: v, text: s.axis.g ? String(Number(v.toPrecision(3))) : number(v, decimals) });
    }
    return out;
  }

  // The points of a grid as a series of no label: v are its values.
  function gridPoints(z) {
    if (!z) return [];
    const s = { n: "", c: "#222222", x: [], y: [], v: [] };
    z.v.forEach(function (row, j) { row.forEach(function (v, i) {
      if (v === null) return;
      s.x.push(z.x[i]);
      s.y.push(z.y[j]);
      s.v.push(v);
    }); });
    return [s];
  }

  const MARKS = {
    circle: "M-2.4 0a2.4 2.4 0 1 0 4.8 0a2.4 2.4 0 1 0-4.8 0z", square: "M-2-2h4v4h-4z",
    triangle: "M-2.4 1.8h4.8L0-2.6z",
    diamond: "M-2.7 0L0 2.7 2.7 0 0-2.7z", cross: "M-2-2L2 2M-2 2L2-2", plus: "M-2.6 0h5.2M0-2.6v5.2",
    arrow: "M0 0v-5.6M-1.9-3.4L0-5.6l1.9 2.2M-1.9 0h3.8", rays: "M2 2l2.5 2.5M-2 2l-2.5 2.5M2-2l2.5-2.5M-2-2l-2.5-2.5",
  };

  let attached = 0;
  function attach(figure) {
    const svg = figure.querySelector("svg"), source = figure.querySelector("script[type='application/json']");
    if (!svg || !source) return;
    const data = JSON.parse(source.textContent), frame = svg.parentNode;
    const panels = data.p.map(function (p, i) {
      return {
        data: p, drawn: svg.querySelector('[data-panel="' + i + '"]'), over: null,
        x: scale(p.x, p.l, p.l + p.w), y: scale(p.y, p.o + p.h, p.o),
        r: p.r ? scale(p.r, p.o + p.h, p.o) : null, s: (p.s || []).concat(gridPoints(p.z)), b: p.b || [], m: p.m || [],
      };
    });
    const hidden = new Set();
    frame.setAttribute("data-lm-suppress-shortcuts", "true"); // keys are the figure's, not those of a notebook around it
    let at = null; // what is read off: panel, series, point

    frame.tabIndex = 0;
    frame.setAttribute("role", "application");
    frame.setAttribute("aria-roledescription", "figure with values to read off");
    frame.setAttribute("aria-label", svg.getAttribute("aria-label"));
    const tools = document.createElement("div");
    tools.className = "tools";
    frame.after(tools);
    const out = add("output", tools);
    out.setAttribute("aria-live", "polite");
    const idle = "Point at a value, or press Tab to come here and an arrow key.";
    out.textContent = idle;
    const folded = add("details", tools), help = add("span", folded, KEYS);
    folded.className = "keys";
    add("summary", folded, "Keys and pointer");
    help.id = "keys-" + attached++;
    frame.setAttribute("aria-describedby", help.id);
    const cross = make("g", { class: "cross", "pointer-events": "none" }, svg);
    const rubber = make("rect", { class: "rubber", "pointer-events": "none", fill: "#0072b2", "fill-opacity": 0.15,
      stroke: "#0072b2", visibility: "hidden" }, svg);

    // The vertical axis of a series or limit: some belong to the one at the right.
    function up(p, s) { return s.z && p.r ? p.r : p.y; }
    function shown(label) { return !hidden.has(label); }
    function visible(p, s, k) {
      const x = s.x[k], y = s.y[k];
      if (x === null || y === null || !shown(s.n)) return false;
      const px = p.x.at(x), py = up(p, s).at(y), d = p.data, hair = 0.02;
      return px >= d.l - hair && px <= d.l + d.w + hair && py >= d.o - hair && py <= d.o + d.h + hair;
    }

    // What is said of a point.
    function words(p, s, k) {
      const y = up(p, s).axis, x = p.data.x, parts = [];
      if (panels.length > 1 && p.data.t) parts.push(p.data.t);
      if (s.v) {
        const z = p.data.z.z;
        return (parts.length ? parts[0] + ": " : "") + z.n + " " + withUnit(number(s.v[k], z.d), z) + " at " + x.n + " " +
          withUnit(trimmed(s.x[k], x.d), x) + " and " + y.n + " " + withUnit(trimmed(s.y[k], y.d), y);
      }
      if (s.n) parts.push(s.n);
      let value = number(s.y[k], y.d);
      if (s.e && s.e[k] && !s.u) value = value + " \u00b1 " + number(s.e[k], y.d);
      let text = parts.join(", ") + (parts.length ? ": " : "") + y.n + " " + withUnit(value, y);
      if (s.u && s.u[k]) text += ", U = " + withUnit(number(s.u[k], y.d), y);
      const band = p.b.find(function (b) { return b.o && b.o === s.n && shown(b.n); });
      const j = band ? band.x.indexOf(s.x[k]) : -1;
      if (j >= 0 && band.l[j] !== null && band.h[j] !== null)
        text += ", with its uncertainty " + number(band.l[j], y.d) + " to " + withUnit(number(band.h[j], y.d), y);
      text += " at " + x.n + " " + withUnit(trimmed(s.x[k], x.d), x);
      if (s.q && s.q[k]) text += " (line " + s.q[k] + (s.f ? " of " + s.f : "") + ")";
      return text;
    }
    function show(p, s, k) {
      at = { p: p, s: s, k: k };
      cross.textContent = "";
      const d = p.data, x = p.x.at(s.x[k]), y = up(p, s).at(s.y[k]);
      make("path", { d: "M" + x + " " + d.o + "v" + d.h + "M" + d.l + " " + y + "h" + d.w, stroke: "#777",
        "stroke-width": 0.5, "stroke-dasharray": "2 2", fill: "none" }, cross);
      make("circle", { cx: x, cy: y, r: 4, fill: "none", stroke: "#d55e00", "stroke-width": 1.4 }, cross);
      out.textContent = words(p, s, k);
    }
    function clear() {
      at = null;
      cross.textContent = "";
      out.textContent = idle;
    }

    // An enlarged panel is drawn anew over the one that was drawn first, which is hidden as long.
    function redraw(p) {
      if (p.over) p.over.remove();
      p.over = null;
      if (p.r) p.r.view = p.y.view.map(function (v) {
        const f = (v - p.y.whole[0]) / (p.y.whole[1] - p.y.whole[0]);
        return p.r.whole[0] + f * (p.r.whole[1] - p.r.whole[0]);
      });
      const whole = [p.x, p.y].every(function (a) { return a.view[0] === a.whole[0] && a.view[1] === a.whole[1]; });
      p.drawn.style.display = whole ? "" : "none";
      if (!whole) p.over = enlarged(p);
      if (at && at.p === p && visible(p, at.s, at.k)) show(p, at.s, at.k);
      else clear();
    }
    function enlarged(p) {
      const d = p.data, right = d.l + d.w, bottom = d.o + d.h;
      const g = make("g", { class: "enlarged" });
      svg.insertBefore(g, cross);
      const id = "clip-" + help.id + "-" + panels.indexOf(p);
      make("rect", { x: d.l, y: d.o, width: d.w, height: d.h }, make("clipPath", { id: id }, g));
      const label = function (x, y, anchor, text, size) {
        make("text", { x: x, y: y, "text-anchor": anchor, "font-size": size || 8, fill: "#222" }, g).textContent = text;
      };
      let lines = "";
      for (const t of ticks(p.x)) {
        const x = p.x.at(t.v);
        lines += "M" + x + " " + d.o + "V" + bottom;
        label(x, bottom + 10, "middle", t.text);
      }
      for (const t of ticks(p.y)) {
        const y = p.y.at(t.v);
        lines += "M" + d.l + " " + y + "H" + right;
        label(d.l - 4, y + 3, "end", t.text);
      }
      if (p.r) for (const t of ticks(p.r)) label(right + 4, p.r.at(t.v) + 3, "start", t.text);
      make("path", { d: lines, stroke: "#ddd", "stroke-width": 0.5, fill: "none" }, g);
      const inner = make("g", { "clip-path": "url(#" + id + ")", fill: "none" }, g);
      for (const b of p.b) if (shown(b.n)) area(p, b, inner);
      for (const m of p.m) limit(p, m, inner);
      for (const s of p.s) if (s.v) curve(p, s, inner);
      for (const s of p.s) if (!s.v && shown(s.n)) curve(p, s, inner);
      make("rect", { x: d.l, y: d.o, width: d.w, height: d.h, fill: "none", stroke: "#222", "stroke-width": 0.5 }, g);
      const name = function (a) { return a.n + (a.u ? " (" + a.u + ")" : ""); };
      label((d.l + right) / 2, d.o - 3, "middle", d.t || (d.z ? name(d.z.z) + " over " + name(d.x) + " and " + name(d.y) :
        name(d.y) + " over " + name(d.x)), 9);
      return g;
    }
    function area(p, b, g) {
      let run = [];
      const flush = function () {
        if (run.length > 1) {
          const high = run.map(function (k) { return p.x.at(b.x[k]) + " " + p.y.at(b.h[k]); });
          const low = run.map(function (k) { return p.x.at(b.x[k]) + " " + p.y.at(b.l[k]); }).reverse();
          make("path", { d: "M" + high.concat(low).join("L") + "z", fill: b.c, "fill-opacity": 0.2 }, g);
        }
        run = [];
      };
      b.x.forEach(function (x, k) { if (x === null || b.l[k] === null || b.h[k] === null) flush(); else run.push(k); });
      flush();
    }
    function limit(p, m, g) {
      const d = p.data, bounded = m.a || m.b, along = m.y ? p.y : p.x;
      const ends = m.y ? [d.o + d.h, d.o] : [d.l, d.l + d.w];
      const a = bounded ? along.at(m.a) : ends[0], b = bounded ? along.at(m.b) : ends[1];
      const v = m.y ? p.x.at(m.v) : up(p, m).at(m.v), s = (m.y ? 4 : -4) * (m.s || 0);
      let hatch = "";
      for (let k = Math.min(a, b) + 4; m.s && k < Math.max(a, b); k += 6)
        hatch += m.y ? "M" + v + " " + k + "l" + s + " 4" : "M" + k + " " + v + "l-4 " + s;
      make("path", { d: m.y ? "M" + v + " " + a + "V" + b : "M" + a + " " + v + "H" + b, stroke: m.c,
        "stroke-width": 1.4 }, g);
      make("path", { d: hatch || "M0 0", stroke: m.c, "stroke-width": 0.5 }, g);
      if (m.n && !m.y) make("text", { x: Math.max(a, d.l) + 4, y: v + (m.s > 0 ? 9 : -3), "font-size": 8,
        fill: "#222" }, g).textContent = m.n;
    }
    // The colours of a map, one for each of its points: half way to the next.
    function cells(p, s, g) {
      const z = p.data.z, c = z.c, half = function (axis, list, i, by) {
        const j = i + by, a = axis.at(list[i]);
        return j < 0 || j >= list.length ? a : (a + axis.at(list[j])) / 2;
      };
      z.v.forEach(function (row, j) { row.forEach(function (v, i) {
        if (v === null) return;
        const x0 = half(p.x, z.x, i, -1), x1 = half(p.x, z.x, i, 1), y0 = half(p.y, z.y, j, -1), y1 = half(p.y, z.y, j, 1);
        const t = Math.min(Math.max((v - z.z.a) / (z.z.b - z.z.a || 1), 0), 1);
        make("rect", { x: Math.min(x0, x1), y: Math.min(y0, y1), width: Math.abs(x1 - x0) + 0.3,
          height: Math.abs(y1 - y0) + 0.3, fill: c[Math.round(t * (c.length - 1))] }, g);
      }); });
    }
    function curve(p, s, g) {
      if (s.v) { if (p.data.z.k) cells(p, s, g); return; }
      let line = "", bars = "", joined = false;
      s.x.forEach(function (vx, k) {
        const vy = s.y[k];
        if (vx === null || vy === null || (up(p, s).axis.g && vy <= 0) || (p.data.x.g && vx <= 0)) {
          joined = false;
          return;
        }
        const x = p.x.at(vx), y = up(p, s).at(vy);
        line += (joined ? "L" : "M") + x + " " + y;
        joined = true;
        if (s.e && s.e[k] && !(up(p, s).axis.g && vy <= s.e[k]))
          bars += "M" + x + " " + up(p, s).at(vy - s.e[k]) + "V" + up(p, s).at(vy + s.e[k]);
        if (s.k && visible(p, s, k)) {
          make("path", { d: MARKS[s.k], stroke: s.c, "stroke-width": 0.8,
            transform: "translate(" + x + " " + y + ")" }, g);
        }
      });
      if (bars) make("path", { d: bars, stroke: s.c, "stroke-width": 0.6 }, g);
      if (s.i) make("path", { d: line, stroke: s.c, "stroke-width": s.w,
        "stroke-dasharray": (s.d || []).join(" ") || "none" }, g);
    }

    // The range in view, never beyond the whole one and never finer than a ten-thousandth of it.
    function look(a, low, high) {
      const all = a.whole[1] - a.whole[0], least = all * 1e-4;
      if (high - low < least) { const m = (low + high) / 2; low = m - least / 2; high = m + least / 2; }
      if (high - low >= all * 0.9999) { a.view = a.whole.slice(); return; }
      if (low < a.whole[0]) { high += a.whole[0] - low; low = a.whole[0]; }
      if (high > a.whole[1]) { low -= high - a.whole[1]; high = a.whole[1]; }
      a.view = [low, high];
    }
    function zoom(p, factor) {
      [p.x, p.y].forEach(function (a, i) {
        const length = (a.view[1] - a.view[0]) / factor;
        const centre = at && at.p === p ? a.inverse(i ? up(p, at.s).at(at.s.y[at.k]) : p.x.at(at.s.x[at.k])) :
          (a.view[0] + a.view[1]) / 2;
        look(a, centre - length / 2, centre + length / 2);
      });
      redraw(p);
    }
    function whole(p) {
      p.x.view = p.x.whole.slice();
      p.y.view = p.y.whole.slice();
      redraw(p);
    }
    function move(p, dx, dy) {
      [[p.x, dx], [p.y, dy]].forEach(function (m) {
        const by = (m[0].view[1] - m[0].view[0]) * m[1];
        look(m[0], m[0].view[0] + by, m[0].view[1] + by);
      });
      redraw(p);
    }

    // Points in the order of x, as the arrow keys follow them.
    function ordered(p, s) {
      return s.x.map(function (_, k) { return k; }).filter(function (k) { return visible(p, s, k); })
        .sort(function (a, b) { return s.x[a] - s.x[b] || a - b; });
    }
    function choices() {
      const all = [];
      for (const p of panels) for (const s of p.s) if (ordered(p, s).length) all.push({ p: p, s: s });
      return all;
    }
    function step(by) {
      if (!at) { enter(0); return; }
      const all = ordered(at.p, at.s), k = Math.min(Math.max(all.indexOf(at.k) + by, 0), all.length - 1);
      if (all.length) show(at.p, at.s, all[k]);
    }
    function enter(by) {
      const all = choices();
      if (!all.length) return;
      let i = at ? all.findIndex(function (c) { return c.p === at.p && c.s === at.s; }) : -1;
      const x = at ? at.s.x[at.k] : null;
      i = i < 0 ? 0 : (i + by + all.length) % all.length;
      const c = all[i], points = ordered(c.p, c.s);
      let best = points[0];
      if (x !== null) for (const k of points) if (Math.abs(c.s.x[k] - x) < Math.abs(c.s.x[best] - x)) best = k;
      show(c.p, c.s, best);
    }

    frame.addEventListener("keydown", function (e) {
      if (e.altKey || e.ctrlKey || e.metaKey || e.target !== frame) return;
      const p = at ? at.p : panels[0];
      const arrows = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };
      const a = arrows[e.key];
      if (a && e.shiftKey) move(p, a[0] * 0.2, a[1] * 0.2);
      else if (a && a[0]) step(a[0]);
      else if (a) enter(-a[1]);
      else if (e.key === "Home" && at) step(-1e9);
      else if (e.key === "End" && at) step(1e9);
      else if (e.key === "+" || e.key === "=") zoom(p, 2);
      else if (e.key === "-") zoom(p, 0.5);
      else if (e.key === "0") panels.forEach(whole);
      else if (e.key === "Escape") { clear(); e.stopPropagation(); return; }
      else return;
      e.preventDefault();
      e.stopPropagation();
    });

    // Where the pointer is on the drawing, and in which panel.
    function place(e) {
      const m = svg.getScreenCTM();
      if (!m) return null;
      const q = new DOMPoint(e.clientX, e.clientY).matrixTransform(m.inverse());
      const p = panels.find(function (c) {
        const d = c.data;
        return q.x >= d.l && q.x <= d.l + d.w && q.y >= d.o && q.y <= d.o + d.h;
      });
      return { x: q.x, y: q.y, p: p };
    }
    let drag = null;
    frame.addEventListener("pointerdown", function (e) {
      const q = e.pointerType !== "touch" && e.button === 0 ? place(e) : null;
      if (q && q.p) { drag = q; frame.setPointerCapture(e.pointerId); }
    });
    function corners(q) {
      const d = drag.p.data, cut = function (v, a, b) { return Math.min(Math.max(v, a), b); };
      const x = cut(q.x, d.l, d.l + d.w), y = cut(q.y, d.o, d.o + d.h);
      return { x: Math.min(x, drag.x), y: Math.min(y, drag.y), w: Math.abs(x - drag.x), h: Math.abs(y - drag.y) };
    }
    frame.addEventListener("pointermove", function (e) {
      const q = place(e);
      if (!q) return;
      if (drag) {
        const c = corners(q);
        for (const k of [["x", c.x], ["y", c.y], ["width", c.w], ["height", c.h]]) rubber.setAttribute(k[0], k[1]);
        rubber.setAttribute("visibility", c.w > 3 || c.h > 3 ? "visible" : "hidden");
        return;
      }
      if (!q.p) return;
      let best = null, least = 30 * 30; // points of the drawing, squared
      for (const s of q.p.s) for (let k = 0; k < s.x.length; k++) {
        if (!visible(q.p, s, k)) continue;
        const dx = q.p.x.at(s.x[k]) - q.x, dy = up(q.p, s).at(s.y[k]) - q.y, far = dx * dx + dy * dy;
        if (far < least) { best = { s: s, k: k }; least = far; }
      }
      if (best) show(q.p, best.s, best.k);
    });
    function drop(e, taken) {
      if (!drag) return;
      const q = place(e), p = drag.p, c = q && taken ? corners(q) : null;
      drag = null;
      rubber.setAttribute("visibility", "hidden");
      if (!c || c.w < 5 || c.h < 5) return;
      const x = [p.x.inverse(c.x), p.x.inverse(c.x + c.w)], y = [p.y.inverse(c.y + c.h), p.y.inverse(c.y)];
      look(p.x, x[0], x[1]);
      look(p.y, y[0], y[1]);
      redraw(p);
    }
    frame.addEventListener("pointerup", function (e) { drop(e, true); });
    frame.addEventListener("pointercancel", function (e) { drop(e, false); });
    frame.addEventListener("dblclick", function (e) {
      const q = place(e);
      if (q && q.p) whole(q.p);
    });

    const buttons = add("div", tools);
    buttons.className = "buttons";
    const button = function (text, act) {
      const b = add("button", buttons, text);
      b.type = "button";
      b.addEventListener("click", act);
    };
    button("Enlarge", function () { zoom(at ? at.p : panels[0], 2); });
    button("Reduce", function () { zoom(at ? at.p : panels[0], 0.5); });
    button("Whole range", function () { panels.forEach(whole); });

    // A box for each curve and each band; those of one label in several panels share theirs.
    const labels = [];
    for (const p of panels) for (const part of p.s.concat(p.b))
      if (part.n && labels.indexOf(part.n) < 0) labels.push(part.n);
    if (labels.length > 1) {
      const set = add("fieldset", tools);
      add("legend", set, "Shown");
      for (const n of labels) {
        const l = add("label", set), box = add("input", l);
        box.type = "checkbox";
        box.checked = true;
        l.appendChild(document.createTextNode(" " + n));
        box.addEventListener("change", function () {
          if (box.checked) hidden.delete(n); else hidden.add(n);
          for (const p of panels) {
            p.s.forEach(function (s, i) { if (s.n === n) toggle(p, "series", i, box.checked); });
            p.b.forEach(function (b, i) { if (b.n === n) toggle(p, "band", i, box.checked); });
            redraw(p);
          }
        });
      }
    }
    function toggle(p, part, i, on) {
      for (const g of p.drawn.querySelectorAll("[data-" + part + '="' + i + '"]')) g.style.display = on ? "" : "none";
    }
  }

  // A notebook has pictures, which stand where nobody trusts it. Each holds the drawing, which takes its place.
  const STYLE = ".wedgework .plot{width:max-content;max-width:100%;cursor:crosshair;user-select:none;touch-action:pan-x pan-y}" +
    ".wedgework .plot svg{display:block;max-width:100%;height:auto;background:#fff}" +
    ".wedgework .tools{font-size:.92em;padding:.3em 0}.wedgework .tools output{display:block;min-height:1.4em}" +
    ".wedgework .tools fieldset{border:0;padding:0;margin:.3em 0 0;display:flex;flex-wrap:wrap;gap:.1em 1.2em}" +
    ".wedgework .tools legend{float:left;width:auto;border:0;margin:0;padding:0 .8em 0 0;font-size:inherit}" +
    ".wedgework .tools label{font-weight:normal;margin:0}.wedgework .tools button{margin:.1em .5em .1em 0}" +
    ".wedgework .tools summary{display:list-item;cursor:pointer}@media print{.wedgework .tools{display:none}}";
  function upgrade(figure) {
    const img = figure.querySelector(".plot > img"), comma = img ? img.src.indexOf(",") : -1;
    if (comma < 0) return;
    const bytes = Uint8Array.from(atob(img.src.slice(comma + 1)), function (c) { return c.charCodeAt(0); });
    const drawn = new DOMParser().parseFromString(new TextDecoder().decode(bytes), "image/svg+xml").documentElement;
    if (drawn.localName !== "svg") return;
    const svg = document.importNode(drawn, true);
    svg.setAttribute("role", "img");
    svg.setAttribute("aria-label", img.alt);
    img.after(svg);
    try {
      attach(figure);
      img.style.display = "none";
    } catch (e) {
      svg.remove();
      throw e;
    }
  }
  function scan() {
    document.querySelectorAll(".chart.wedgework:not(.answers)").forEach(function (figure) {
      figure.classList.add("answers");
      upgrade(figure);
    });
  }
  if (!window.wedgeworkNotebook) {
    document.querySelectorAll(".chart").forEach(attach);
    return;
  }
  if (window.wedgeworkFigures) { window.wedgeworkFigures(); return; }
  // Outputs run their scripts before or after they are put into the page.
  window.wedgeworkFigures = function () { for (const t of [0, 50, 300, 1500]) setTimeout(scan, t); };
  add("style", document.head, STYLE);
  window.wedgeworkFigures();
})();
