"use strict";
(() => {
  const all = (selector, within = document) => [...within.querySelectorAll(selector)];
  const grouped = new Intl.NumberFormat("en-GB");
  const counted = (number, noun) => `${grouped.format(number)} ${noun}${number === 1 ? "" : "s"}`;
  const OPENS_AT_MOST = 60;

  const ADDRESS = "#findings?";

  // A link into closed details opens them first; a link with a filter sets it.
  const reveal = () => {
    if (location.hash.startsWith(ADDRESS)) return filters?.restore();
    const target = document.getElementById(location.hash.slice(1));
    if (!target) return;
    let hidden = false;
    for (let at = target; at; at = at.parentElement) {
      if (at.tagName === "DETAILS") at.open = true;
      hidden ||= at.hidden;
    }
    if (hidden) document.getElementById("filters").reset();
    target.scrollIntoView();
  };
  addEventListener("hashchange", reveal);
  document.addEventListener("click", (event) => {
    const link = event.target.closest("a[href^='#']");
    if (link && link.getAttribute("href") === location.hash) reveal();
  });

  // Paper explains every rule, in brief where the reader left it closed; with "Print everything" it
  // shows all that the screen folds. Then the screen is as it was.
  const everything = document.getElementById("everything");
  let opened = [];
  addEventListener("beforeprint", () => {
    opened = all(everything.checked ? "details:not([open])" : ".rule:not([open])");
    for (const details of opened) {
      details.classList.toggle("brief", !everything.checked);
      details.open = true;
    }
  });
  addEventListener("afterprint", () => {
    for (const details of opened) {
      details.classList.remove("brief");
      details.open = false;
    }
    opened = [];
  });
  const button = document.getElementById("print");
  button.addEventListener("click", () => print());
  button.hidden = false;

  const form = document.getElementById("filters");
  const filters = form && filterFindings();
  if (location.hash) reveal();

  function filterFindings() {
    const cards = new Map(all("option[data-s]", form).map((o) => [o.value, { name: o.text, site: o.dataset.s }]));
    const sites = all("option", form.elements.site).map((option) => option.text);
    const sections = all("#findings .band").map((element) => ({
      element, band: element.dataset.b, blocks: all(".rule", element).map(readBlock),
    }));
    const output = document.getElementById("shown");
    const note = document.getElementById("narrowed");
    const everyLine = sections.flatMap((s) => s.blocks).flatMap((block) => block.lines);
    const whole = everyLine.length;
    all("#findings .listed tbody tr").forEach((row, number) => { everyLine[number].paper = row; });
    let absent = [];

    function readBlock(element) {
      const lines = all("tbody[data-c]", element).map((line) => ({
        element: line, card: line.dataset.c, outcome: outcomeOf(line.dataset), text: "",
      }));
      return { element, family: element.dataset.f, title: element.querySelector("h4").textContent, lines };
    }

    function outcomeOf(marks) {
      if ("a" in marks) return "accepted";
      return "u" in marks ? "unknown" : "fail";
    }

    function textOf(block, line) {
      const card = cards.get(line.card);
      const site = sites[Number(card.site) + 1];
      line.text ||= [block.title, block.family, site, line.element.textContent].join(" ").toLowerCase();
      return line.text;
    }

    function bandBoxes() {
      return all("input[name=band]", form);
    }

    function wanted() {
      const { outcome, family, site, card, text } = form.elements;
      const boxes = bandBoxes();
      return {
        bands: new Set(boxes.filter((box) => box.checked).map((box) => box.value)),
        allBands: boxes.every((box) => box.checked),
        outcome: outcome.value, family: family.value, site: site.value, card: card.value,
        words: text.value.toLowerCase().split(/\s+/).filter(Boolean),
      };
    }

    function fits(want, block, line) {
      return (!want.card || line.card === want.card)
        && (!want.outcome || line.outcome === want.outcome)
        && (!want.site || cards.get(line.card).site === want.site)
        && want.words.every((word) => textOf(block, line).includes(word));
    }

    function apply() {
      const want = wanted();
      const narrowed = !want.allBands || want.outcome || want.family || want.site || want.card || want.words.length;
      const shown = [];
      const onCards = new Set();
      let number = 0;
      for (const { element, band, blocks } of sections) {
        let inSection = 0;
        for (const block of blocks) {
          const possible = want.bands.has(band) && (!want.family || block.family === want.family);
          let inBlock = 0;
          for (const line of block.lines) {
            const visible = possible && fits(want, block, line);
            line.element.hidden = !visible;
            line.paper.hidden = !visible;
            if (visible) { inBlock += 1; onCards.add(line.card); }
          }
          block.element.hidden = !inBlock;
          if (inBlock) shown.push(block.element);
          inSection += inBlock;
        }
        element.hidden = !inSection;
        number += inSection;
      }
      if (narrowed && number <= OPENS_AT_MOST) for (const block of shown) block.open = true;
      const says = `${grouped.format(number)} of ${counted(whole, "finding")}, on ${counted(onCards.size, "card")}`;
      const lost = absent.length ? ` (not in this report: ${absent.join(", ")})` : "";
      output.textContent = (narrowed ? says : `All ${counted(whole, "finding")}`) + lost;
      note.textContent = `Filtered: ${says}. The sums of the report are of all.`;
      note.hidden = !narrowed;
      explainOnPaper(shown);
      keepCardsOfSite(want.site);
      keepInAddress(want);
    }

    // Paper explains the rules of the findings that it lists, also where the explanation stands in
    // another severity, which the filter hides.
    function explainOnPaper(shown) {
      const titles = new Set(shown.map((block) => block.querySelector("h4").textContent));
      for (const { blocks } of sections) {
        for (const { element, title } of blocks) element.classList.toggle("unasked", !titles.has(title));
      }
    }

    // Names stand in the address, not numbers: a link means the same in the next report.
    function keepInAddress(want) {
      const said = new URLSearchParams();
      if (!want.allBands) said.set("severity", [...want.bands].join(" "));
      for (const name of ["outcome", "family", "site", "card"]) {
        const select = form.elements[name];
        if (select.value) said.set(name, name === "outcome" ? select.value : select.selectedOptions[0].text);
      }
      if (want.words.length) said.set("text", want.words.join(" "));
      if (`${said}`) history.replaceState(null, "", `${ADDRESS}${said}`);
      else if (location.hash.startsWith(ADDRESS)) history.replaceState(null, "", "#findings");
    }

    // The reset comes first: it forgets what an earlier link asked for in vain.
    function restore() {
      const asked = new URLSearchParams(location.hash.slice(ADDRESS.length));
      form.reset();
      absent = ["outcome", "family", "site", "card"].filter((name) => asked.has(name) && !chosen(name, asked.get(name)))
        .map((name) => asked.get(name));
      if (asked.has("severity")) {
        const bands = asked.get("severity").split(" ");
        for (const box of bandBoxes()) box.checked = bands.includes(box.value);
      }
      form.elements.text.value = asked.get("text") ?? "";
      apply();
      form.scrollIntoView();
    }

    function chosen(name, text) {
      const select = form.elements[name];
      const option = [...select.options].slice(1).find((each) => (name === "outcome" ? each.value : each.text) === text);
      if (option) option.selected = true;
      return Boolean(option);
    }

    function keepCardsOfSite(site) {
      for (const option of all("option[data-s]", form)) option.hidden = Boolean(site) && option.dataset.s !== site;
    }

    function openShown(open) {
      for (const { blocks } of sections) for (const { element } of blocks) if (!element.hidden) element.open = open;
    }

    function show(card, family) {
      form.reset();
      const families = all("option", form.elements.family).map((option) => option.value);
      form.elements.card.value = card ?? "";
      form.elements.family.value = families.includes(family) ? family : "";
      apply();
      form.scrollIntoView();
    }

    // Typing waits a moment: a large estate has tens of thousands of findings.
    let pause = 0;
    form.addEventListener("input", (event) => {
      clearTimeout(pause);
      absent = [];
      pause = setTimeout(apply, event.target.type === "search" ? 150 : 0);
    });
    form.addEventListener("reset", () => {
      absent = [];
      setTimeout(apply, 0);
    });
    form.addEventListener("submit", (event) => event.preventDefault());
    document.getElementById("open-all").addEventListener("click", () => openShown(true));
    document.getElementById("close-all").addEventListener("click", () => openShown(false));
    for (const cell of all(".grid [role='row'][data-c] [role='cell']")) {
      cell.addEventListener("click", () => show(cell.parentNode.dataset.c, familyOf(cell)));
    }

    function familyOf(cell) {
      return cell.querySelector("title").textContent.split(":")[0];
    }
    form.hidden = false;
    if (!location.hash.startsWith(ADDRESS)) apply();
    return { restore };
  }
})();
