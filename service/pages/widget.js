/*
 * <piece-sizer>: a reader's own gauge and measurements in, counts and steps out, in any page.
 *
 *   <script src="https://service.example/widget.js" defer></script>
 *   <piece-sizer template="flap-panel"></piece-sizer>
 *
 * Attributes: template (a built-in's name), units ("metric", "imperial"), terms ("us", "uk"),
 * asks (what else to ask for: "button", "edging", "yarn"), heading (2 to 6, level of its headings).
 * A <script type="application/json"> inside it holds what to begin with: a body as POST /v1/pieces
 * takes it. If that body is complete, its answer is shown at once, asked for by GET, so that a cache
 * can carry it. What a reader types is asked by POST, and kept nowhere.
 */
(() => {
  "use strict";

  const HOME = new URL(".", document.currentScript.src);
  const LONGEST_ADDRESS = 3000;
  const PATIENCE = 15000;
  const MM = { mm: 1, cm: 10, in: 25.4, m: 1000, yd: 914.4 };
  const LARGE = { metric: "cm", imperial: "in" };
  const SMALL = { metric: "mm", imperial: "in" };
  const LONG = { metric: "m", imperial: "yd" };
  const SVG = "image/svg+xml";

  const STYLE = `
    :host { display: block; container-type: inline-size; margin-block: 1.5em; }
    * { box-sizing: border-box; }
    form, section { border-block-start: 2px solid; padding-block: .75em; }
    fieldset { border: 0; margin: 0 0 1em; padding: 0; min-inline-size: 0; }
    legend { font-weight: bold; padding: 0; margin-block-end: .35em; }
    .row { display: flex; flex-wrap: wrap; gap: .6em 1.25em; align-items: flex-end; }
    .field { flex: 1 1 13em; max-inline-size: 22em; }
    .field label { display: block; }
    .entry { display: flex; align-items: center; gap: .4em; margin-block-start: .2em; }
    input, select, button {
      font: inherit; color: inherit; background: transparent;
      border: 1px solid; border-radius: .2em; padding: .35em .5em; min-block-size: 2.4em;
    }
    input:not([type=radio]), select { inline-size: 100%; min-inline-size: 0; }
    input[type=radio] { min-block-size: 0; inline-size: 1.2em; block-size: 1.2em; margin: 0; }
    option { color: CanvasText; background: Canvas; }
    :focus-visible { outline: 3px solid; outline-offset: 2px; }
    .choice { display: inline-flex; align-items: center; gap: .4em; min-block-size: 2em; margin-inline-end: 1em; }
    .about { font-size: .9em; margin: .15em 0 0; }
    .wrong { font-weight: bold; margin: .25em 0 0; }
    .wrong::before { content: "\\2717\\00a0"; }
    [aria-invalid=true] { border-width: 2px; border-style: dashed; }
    [role=alert]:not(:empty) { border: 2px solid; padding: .6em .8em; margin-block: .75em; }
    button { font-weight: bold; padding-inline: 1.2em; cursor: pointer; }
    button[aria-busy=true] { cursor: progress; }
    .wide { overflow-x: auto; }
    table { border-collapse: collapse; margin-block: .5em 1em; }
    caption { text-align: start; font-weight: bold; padding-block-end: .25em; }
    th, td { text-align: start; padding: .25em 1em .25em 0; border-block-end: 1px solid; vertical-align: top; font-weight: normal; }
    thead th { font-weight: bold; }
    td.n { font-variant-numeric: tabular-nums; }
    li { margin-block-end: .4em; overflow-wrap: anywhere; }
    .drawing .paper { fill: none; }
    .drawing svg { display: block; max-inline-size: 100%; block-size: auto; max-block-size: 34em; }
    .quiet { font-size: .9em; }
    .unseen { position: absolute; inline-size: 1px; block-size: 1px; overflow: hidden; clip-path: inset(50%); white-space: nowrap; }
    @media print { form { display: none; } }
  `;

  let serial = 0;

  function make(tag, attributes, ...inside) {
    const node = document.createElement(tag);
    for (const [name, value] of Object.entries(attributes || {})) {
      if (name.startsWith("on")) node.addEventListener(name.slice(2), value);
      else if (value === true) node.setAttribute(name, "");
      else if (value !== undefined && value !== null && value !== false) node.setAttribute(name, value);
    }
    node.append(...inside.filter((part) => part !== null && part !== undefined));
    return node;
  }

  const words = (name) => name.replaceAll("_", " ").replaceAll("-", " ");
  const capital = (text) => text.charAt(0).toUpperCase() + text.slice(1);
  const shown = (number, places) => String(Number(number.toFixed(places)));
  const told = (quantity) => `${shown(quantity.value, 2)} ${quantity.unit}`;
  const signed = (quantity) => `${quantity.value > 0 ? "+" : ""}${told(quantity)}`.replace("-", "\u2212");

  /** Keeps shapes and words of a drawing, and nothing that runs or loads. */
  function drawingFrom(text) {
    const parsed = new DOMParser().parseFromString(text, SVG);
    const root = parsed.documentElement;
    if (root.localName !== "svg") return null;
    const KEPT = new Set(("svg g path rect circle ellipse line polyline polygon text tspan title desc defs"
      + " pattern marker clipPath use").split(" "));
    for (const node of [root, ...root.querySelectorAll("*")]) {
      if (!KEPT.has(node.localName)) node.remove();
      for (const { name, value } of [...node.attributes]) {
        if (/^on/i.test(name) || (/href$/i.test(name) && !value.startsWith("#"))) node.removeAttribute(name);
      }
    }
    return document.importNode(root, true);
  }

  class Unreachable extends Error {}
  class Refused extends Error {
    constructor(problem) {
      super(problem.detail || problem.title);
      this.errors = problem.errors || [];
    }
  }

  class PieceSizer extends HTMLElement {
    static observedAttributes = ["template"];

    connectedCallback() {
      if (this.fields) return;
      this.attachShadow({ mode: "open" });
      const sheet = new CSSStyleSheet();
      sheet.replaceSync(STYLE);
      this.shadowRoot.adoptedStyleSheets = [sheet];
      this.id_ = `piece-sizer-${++serial}`;
      this.home = this.hasAttribute("service") ? new URL(this.getAttribute("service"), location) : HOME;
      this.start();
    }

    attributeChangedCallback(_, before, after) {
      if (this.fields && before !== after) this.start();
    }

    async start() {
      this.fields = new Map();
      this.answered = null;
      this.begin = this.beginning();
      this.units = this.begin.units || this.getAttribute("units") || "metric";
      this.terms = this.begin.terms || this.getAttribute("terms") || "us";
      this.alert = make("div", { role: "alert" });
      this.status = make("p", { role: "status", class: "quiet" }, "One moment\u2026");
      this.shadowRoot.replaceChildren(make("div", { lang: "en" }, this.alert, this.status));
      try {
        const name = this.getAttribute("template") || this.begin.template;
        const [template, stitches] = await Promise.all([
          this.json(`v1/templates/${encodeURIComponent(name)}`),
          this.json("v1/standards/stitch-terms"),
        ]);
        this.template = template;
        this.stitches = stitches.rows.filter((row) => row.name !== "chain" && row.name !== "slip-stitch");
        this.status.textContent = "";
        this.build();
        if (this.begin.gauge && this.begin.measurements) await this.answer(true);
      } catch (error) {
        this.status.textContent = "";
        this.tell(error, () => this.start());
      }
    }

    beginning() {
      const inside = this.querySelector('script[type="application/json"]');
      if (!inside) return {};
      try {
        return JSON.parse(inside.textContent);
      } catch (error) {
        console.error("piece-sizer: what it is to begin with is not JSON", error);
        return {};
      }
    }

    // ---- the form ----

    heading(text, deeper = 0) {
      const level = Math.min(6, Math.max(2, Number(this.getAttribute("heading")) || 3) + deeper);
      return make(`h${level}`, {}, text);
    }

    asks(what) {
      return this.begin[what] !== undefined || (this.getAttribute("asks") ?? "yarn").split(/\s+/).includes(what);
    }

    build() {
      const { template, begin } = this;
      const rounds = "start" in template;
      const gauge = begin.gauge || {};
      const over = this.units === "metric" ? { value: 10, unit: "cm" } : { value: 4, unit: "in" };
      const parts = [
        this.choices(),
        make("fieldset", {}, make("legend", {}, "Your gauge"),
          make("p", { class: "about" }, "Count in the middle of a washed swatch, parts of a stitch too."),
          make("div", { class: "row" },
            this.stitchField(gauge.stitch || "single-crochet"),
            this.number("/gauge/stitches", "Stitches", { value: gauge.stitches }),
            this.number("/gauge/width", "over a width of", { units: LARGE, quantity: gauge.width || over }),
            this.number("/gauge/rows", rounds ? "Rounds" : "Rows", { value: gauge.rows }),
            this.number("/gauge/height", "over a height of", { units: LARGE, quantity: gauge.height || over }))),
        make("fieldset", {}, make("legend", {}, `The ${template.title.charAt(0).toLowerCase()}${template.title.slice(1)}`),
          make("div", { class: "row" }, ...template.measurements.map((m) => this.number(
            `/measurements/${m.name}`, capital(words(m.name)) + (m.optional || m.default ? " (may be left empty)" : ""),
            { units: LARGE, quantity: this.plain((begin.measurements || {})[m.name]), about: capital(m.meaning), example: m.example })))),
      ];
      if (this.asks("button")) {
        const button = begin.button || {};
        parts.push(make("fieldset", {}, make("legend", {}, "Button"), make("div", { class: "row" },
          this.number("/button/diameter", "Across", { units: SMALL, quantity: button.diameter }),
          this.number("/button/thickness", "Thick (3 mm if left empty)", { units: SMALL, quantity: button.thickness }))));
      }
      if (this.asks("yarn")) {
        const yarn = begin.yarn || {};
        const ball = yarn.ball || {};
        parts.push(make("fieldset", {}, make("legend", {}, "Yarn"), make("div", { class: "row" },
          this.select("/yarn/weight_category", "Weight category",
            [["", "not told"], ...[0, 1, 2, 3, 4, 5, 6, 7].map((n) => [String(n), String(n)])],
            String(yarn.weight_category ?? ""), "The number on the band: 0 is lace, 7 jumbo"),
          this.number("/yarn/ball/length", "Length of a ball", { units: LONG, quantity: ball.length }))));
      }
      if (this.asks("edging")) {
        parts.push(make("fieldset", {}, make("legend", {}, "Edging"), make("div", { class: "row" },
          this.select("/edging", "Edging", [["", "none"], ["yes", "one round of the piece's stitch"]],
            begin.edging ? "yes" : ""))));
      }
      this.button = make("button", { type: "submit" }, "Work out my numbers");
      const form = make("form", {
        novalidate: true, onsubmit: (event) => { event.preventDefault(); this.answer(false); },
      }, ...parts, this.button);
      form.setAttribute("aria-label", `${template.title}: your numbers`);
      this.result = make("section", { hidden: true });
      this.shadowRoot.firstElementChild.replaceChildren(form, this.alert, this.status, this.result);
    }

    choices() {
      return make("div", { class: "row" },
        this.radios("Measures", "units", [["metric", "centimetres"], ["imperial", "inches"]]),
        this.radios("Terms", "terms", [["us", "US"], ["uk", "UK"]]));
    }

    radios(legend, property, options) {
      return make("fieldset", {}, make("legend", {}, legend), ...options.map(([value, label]) =>
        make("label", { class: "choice" },
          make("input", {
            type: "radio", name: `${this.id_}-${property}`, value, checked: this[property] === value,
            onchange: () => this.change(property, value),
          }), label)));
    }

    stitchField(chosen) {
      const named = (row) => [row.name, capital(row[this.terms])];
      return this.select("/gauge/stitch", "Stitch", this.stitches.map(named), chosen);
    }

    field(pointer, label, control, about, unit) {
      const id = `${this.id_}${pointer.replaceAll("/", "-")}`;
      control.id = id;
      const wrong = make("p", { class: "wrong", id: `${id}-wrong`, hidden: true });
      const note = about ? make("p", { class: "about", id: `${id}-about` }, about) : null;
      const measure = unit ? make("span", { id: `${id}-unit` }, unit) : null;
      const describe = (faulty) => {
        const by = [measure && `${id}-unit`, note && `${id}-about`, faulty && `${id}-wrong`].filter(Boolean);
        if (by.length) control.setAttribute("aria-describedby", by.join(" "));
        else control.removeAttribute("aria-describedby");
      };
      describe(false);
      this.fields.set(pointer, {
        control, measure,
        blame: (text) => {
          wrong.hidden = !text;
          wrong.textContent = text;
          if (text) control.setAttribute("aria-invalid", "true");
          else control.removeAttribute("aria-invalid");
          describe(Boolean(text));
        },
      });
      return make("div", { class: "field" }, make("label", { for: id }, label),
        make("div", { class: "entry" }, control, measure), note, wrong);
    }

    select(pointer, label, options, chosen, about) {
      const control = make("select", {}, ...options.map(([value, text]) =>
        make("option", { value, selected: value === chosen }, text)));
      return this.field(pointer, label, control, about);
    }

    /** A number; a quantity where it has units, of which the reader's choice takes one. */
    number(pointer, label, { value, units, quantity, about, example }) {
      const control = make("input", { type: "text", inputmode: "decimal", autocomplete: "off" });
      const made = this.field(pointer, label, control, about, units && units[this.units]);
      const field = this.fields.get(pointer);
      field.units = units;
      field.show = (given) => {
        control.value = shown((given.value * MM[given.unit]) / MM[units[this.units]], 2);
      };
      if (units && quantity) field.show(quantity);
      else if (units && example) {
        control.placeholder = `such as ${shown((example.value * MM[example.unit]) / MM[units[this.units]], 1)}`;
      } else if (value !== undefined) control.value = String(value);
      return made;
    }

    plain(measurement) {
      return measurement && typeof measurement.value === "number" ? measurement : undefined;
    }

    change(property, value) {
      const before = this.units;
      this[property] = value;
      for (const field of this.fields.values()) {
        if (!field.units || property !== "units") continue;
        const number = this.read(field.control.value);
        field.measure.textContent = field.units[value];
        field.control.placeholder = "";
        if (typeof number === "number") field.show({ value: number, unit: field.units[before] });
      }
      if (property === "terms") {
        for (const option of this.fields.get("/gauge/stitch").control.options) {
          option.textContent = capital(this.stitches.find((row) => row.name === option.value)[value]);
        }
      }
      if (this.answered) this.answer(false);
    }

    // ---- asking ----

    /** A number as typed, with a point or a comma; undefined if empty, null if it is none. */
    read(text) {
      const bare = text.trim().replace(",", ".");
      if (!bare) return undefined;
      return /^-?\d*\.?\d+$|^\d+\.$/.test(bare) ? Number(bare) : null;
    }

    question() {
      const asked = structuredClone(this.begin);
      asked.template = this.getAttribute("template") || asked.template;
      asked.units = this.units;
      asked.terms = this.terms;
      const slips = [];
      for (const [pointer, { control, units }] of this.fields) {
        const path = pointer.split("/").slice(1);
        let value;
        if (control.localName === "select") {
          value = control.value || undefined;
          if (pointer === "/edging") value = value && (this.begin.edging || {});
          if (pointer === "/yarn/weight_category" && value) value = Number(value);
        } else {
          value = this.read(control.value);
          if (value === null) slips.push({ pointer, detail: "Write a number, such as 24.5" });
          else if (units && value !== undefined) value = { value, unit: units[this.units] };
        }
        this.put(asked, path, value);
      }
      for (const whole of ["button", "yarn"]) {
        if (asked[whole] && !Object.keys(asked[whole]).length) delete asked[whole];
      }
      return { asked, slips };
    }

    put(document, path, value) {
      const last = path[path.length - 1];
      let here = document;
      for (const name of path.slice(0, -1)) {
        if (value === undefined && !here[name]) return;
        here = here[name] = here[name] || {};
      }
      if (value === undefined) delete here[last];
      else here[last] = value;
      const [top, inner] = path;
      if (path.length === 3 && !Object.keys(document[top][inner]).length) delete document[top][inner];
    }

    async answer(first) {
      const { asked, slips } = this.question();
      this.clear();
      if (slips.length) return this.blame(slips, "Some entries are not numbers.");
      const turn = (this.turn = (this.turn || 0) + 1);
      this.button.setAttribute("aria-busy", "true");
      this.status.textContent = "Working it out\u2026";
      try {
        const answer = await this.ask(asked, "application/json", first).then((r) => r.json());
        const drawing = await this.ask(asked, SVG, first).then((r) => r.text()).catch(() => null);
        if (turn !== this.turn) return undefined;
        this.answered = answer;
        this.show(answer, drawing);
      } catch (error) {
        if (turn !== this.turn) return undefined;
        this.status.textContent = "";
        this.result.hidden = true;
        this.answered = null;
        this.tell(error, () => this.answer(first));
      } finally {
        if (turn === this.turn) this.button.removeAttribute("aria-busy");
      }
      return undefined;
    }

    ask(document, accept, first) {
      const body = JSON.stringify(document);
      const address = `v1/pieces?ask=${encodeURIComponent(body)}`;
      if (first && address.length < LONGEST_ADDRESS) return this.fetch(address, { headers: { Accept: accept } });
      return this.fetch("v1/pieces", {
        method: "POST", body, headers: { Accept: accept, "Content-Type": "application/json" },
      });
    }

    async fetch(path, options = {}) {
      let response;
      try {
        response = await fetch(new URL(path, this.home), {
          ...options, credentials: "omit", referrerPolicy: "no-referrer", signal: AbortSignal.timeout(PATIENCE),
        });
      } catch (error) {
        throw new Unreachable(error.message);
      }
      if (response.ok) return response;
      const problem = await response.json().catch(() => null);
      if (!problem || response.status >= 500 || response.status === 429) throw new Unreachable(response.statusText);
      throw new Refused(problem);
    }

    json(path) {
      return this.fetch(path).then((response) => response.json());
    }

    // ---- telling ----

    clear() {
      this.alert.replaceChildren();
      for (const field of this.fields.values()) field.blame("");
    }

    tell(error, again) {
      if (error instanceof Refused) return this.blame(error.errors, error.message);
      if (!(error instanceof Unreachable)) console.error("piece-sizer:", error);
      const text = error instanceof Unreachable
        ? "The sizing service can\u2019t be reached just now. Your entries are still here."
        : "Something in this calculator went wrong. Your entries are still here.";
      return this.alert.replaceChildren(make("p", {}, text),
        make("button", { type: "button", onclick: () => { this.alert.replaceChildren(); again(); } }, "Try again"));
    }

    /** Each error beside the field it points to, the rest in the notice. */
    blame(errors, message) {
      const elsewhere = [];
      let faulty = null;
      for (const { pointer = "", detail } of errors) {
        const at = [...this.fields.keys()].find((known) => pointer === known || pointer.startsWith(`${known}/`));
        if (!at) {
          elsewhere.push(detail);
          continue;
        }
        this.fields.get(at).blame(capital(detail));
        faulty = faulty || this.fields.get(at).control;
      }
      const notice = elsewhere.length ? elsewhere : [faulty ? "Please look at the entries marked above." : message];
      this.status.textContent = "";
      this.alert.replaceChildren(...notice.map((text) => make("p", {}, capital(text))));
      if (faulty) {
        faulty.focus();
      }
    }

    // ---- showing ----

    show(answer, drawing) {
      const round = "start" in answer;
      const rows = round ? "Rounds" : "Rows";
      const foundation = answer.foundation;
      const counts = this.table("Counts", ["Part", rows, "Stitches at its start", "at its end"],
        answer.sections.map((s) => [capital(s.name), s.rows, s.stitches_at_start, s.stitches_at_end]));
      const sizes = this.table("Measurements", ["", "Asked", "Comes to", "Off by"],
        Object.entries(answer.measurements).map(([name, m]) => [
          capital(words(name)), m.asked ? told(m.asked) : "\u2013", told(m.finished),
          m.difference ? signed(m.difference) : "\u2013"]));
      const summary = [
        foundation ? `Chain ${foundation.chain}, for ${foundation.stitches} stitches.` : null,
        `${answer.totals.rows} ${rows.toLowerCase()} in all.`,
      ].filter(Boolean).join(" ");
      const svg = drawing && drawingFrom(drawing);
      this.result.replaceChildren(...[
        this.heading("Your numbers"),
        make("p", {}, summary),
        counts, sizes,
        svg && make("div", { class: "drawing" }, svg),
        this.heading("Steps", 1),
        make("ol", {}, ...answer.instructions.map(({ text }) => make("li", {}, text))),
        ...this.yarn(answer.yarn),
        ...(answer.cautions.length ? [this.heading("Mind", 1),
          make("ul", {}, ...answer.cautions.map(({ text }) => make("li", {}, text)))] : []),
      ].filter(Boolean));
      this.result.hidden = false;
      this.status.textContent = `Worked out: ${summary}`;
    }

    yarn(yarn) {
      if (!yarn) return [];
      const amount = yarn.length || yarn.mass;
      const ends = yarn.length ? yarn.interval : yarn.mass_interval;
      const between = ends ? `, likely between ${shown(ends[0].value, 0)} and ${shown(ends[1].value, 0)} ${ends[1].unit}` : "";
      const balls = yarn.balls ? ` Balls to buy: ${yarn.balls}${yarn.balls_at_most > yarn.balls
        ? `, or ${yarn.balls_at_most} if it takes the most` : ""}, of one dye lot${yarn.ball && yarn.ball.length
        ? ` (counted in balls of ${shown(yarn.ball.length.value, 0)} ${yarn.ball.length.unit}, ${yarn.ball.source})` : ""}.` : "";
      return [this.heading("Yarn", 1),
        make("p", {}, `About ${shown(amount.value, 0)} ${amount.unit}${between} (reckoned by ${words(yarn.method)}).${balls}`)];
    }

    table(caption, head, rows) {
      return make("div", { class: "wide", tabindex: "0", role: "region", "aria-label": caption },
        make("table", {}, make("caption", {}, caption),
          make("thead", {}, make("tr", {}, ...head.map((text) => text
            ? make("th", { scope: "col" }, text) : make("td", {})))),
          make("tbody", {}, ...rows.map(([name, ...cells]) => make("tr", {},
            make("th", { scope: "row" }, name), ...cells.map((cell) => make("td", { class: "n" }, String(cell))))))));
    }
  }

  customElements.define("piece-sizer", PieceSizer);
})();
