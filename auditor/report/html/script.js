"use strict";
(() => {
  const all = (selector, within = document) => [...within.querySelectorAll(selector)];
  const grouped = new Intl.NumberFormat("en-GB");
  const counted = (number, noun) => `${grouped.format(number)} ${noun}${number === 1 ? "" : "s"}`;
  const OPENS_AT_MOST = 60;

  // A link into closed details opens them first.
  const reveal = () => {
    const target = document.getElementById(decodeURIComponent(location.hash.slice(1)));
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

  // Paper shows everything, and then the screen is as it was.
  let opened = [];
  addEventListener("beforeprint", () => {
    opened = all("details:not([open])");
    for (const details of opened) details.open = true;
  });
  addEventListener("afterprint", () => {
    for (const details of opened) details.open = false;
    opened = [];
  });

  const form = document.getElementById("filters");
  if (form) filterFindings();
  if (location.hash) reveal();

  function filterFindings() {
    const cards = new Map(all("option[data-s]", form).map((o) => [o.value, { name: o.text, site: o.dataset.s }]));
    const sites = all("option", form.elements.site).map((option) => option.text);
    const sections = all("#findings .band").map((element) => ({
      element, band: element.dataset.b, blocks: all(".rule", element).map(readBlock),
    }));
    const output = document.getElementById("shown");
    const whole = sections.flatMap((s) => s.blocks).reduce((sum, block) => sum + block.lines.length, 0);

    function readBlock(element) {
      const lines = all("tbody[data-c]", element).map((line) => ({ element: line, card: line.dataset.c, text: "" }));
      return { element, family: element.dataset.f, title: element.querySelector("h4").textContent, lines };
    }

    function textOf(block, line) {
      const card = cards.get(line.card);
      const site = sites[Number(card.site) + 1];
      line.text ||= [block.title, block.family, site, line.element.textContent].join(" ").toLowerCase();
      return line.text;
    }

    function wanted() {
      const { family, site, card, text, band } = form.elements;
      const boxes = band instanceof RadioNodeList ? [...band] : [band];
      return {
        bands: new Set(boxes.filter((box) => box.checked).map((box) => box.value)),
        allBands: boxes.every((box) => box.checked),
        family: family.value, site: site.value, card: card.value,
        words: text.value.toLowerCase().split(/\s+/).filter(Boolean),
      };
    }

    function fits(want, block, line) {
      return (!want.card || line.card === want.card)
        && (!want.site || cards.get(line.card).site === want.site)
        && want.words.every((word) => textOf(block, line).includes(word));
    }

    function apply() {
      const want = wanted();
      const narrowed = !want.allBands || want.family || want.site || want.card || want.words.length;
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
      output.textContent = narrowed
        ? `${grouped.format(number)} of ${counted(whole, "finding")}, on ${counted(onCards.size, "card")}`
        : `All ${counted(whole, "finding")}`;
      keepCardsOfSite(want.site);
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
      pause = setTimeout(apply, event.target.type === "search" ? 150 : 0);
    });
    form.addEventListener("reset", () => setTimeout(apply, 0));
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
    apply();
  }
})();
