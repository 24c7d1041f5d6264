// The list beside the season's map: finding a bed, days, what to look at.
(function () {
  "use strict";

  const { data, byId, el, say, many, narrow } = mapPage;
  const { beds, blocks, strips, dayShown, redraw, show, panelButton } = seasonPage;
  const MOST_FOUND = 24;

  // Finding a bed ------------------------------------------------------------------------------

  const names = [...new Set(beds.map((bed) => bed.name))];
  names.forEach((name) => {
    const option = el("option");
    option.value = name;
    byId("bed-names").append(option);
  });
  const fullName = (bed) =>
    beds.some((other) => other !== bed && other.name === bed.name)
      ? `${bed.name}, ${blocks[bed.block].name}`
      : bed.name;
  function find(wanted, from) {
    const low = wanted.trim().toLowerCase();
    const told = byId("found");
    told.replaceChildren();
    if (!low) return;
    const has = (same) => beds.filter((bed) => same(bed.name.toLowerCase()));
    const whole = has((name) => name === low);
    const hits = whole.length ? whole : has((name) => name.includes(low));
    if (hits.length === 1) {
      told.append(el("p", "", say("Bed {bed}", { bed: hits[0].name })));
      show(hits[0], from);
      return;
    }
    told.append(el("p", "", hits.length ? many(hits.length, "{count} bed:", "{count} beds:") : say("No bed of that name.")));
    for (const bed of hits.slice(0, MOST_FOUND)) {
      const button = el("button", "", fullName(bed));
      button.type = "button";
      button.addEventListener("click", () => show(bed, from));
      told.append(button);
    }
    if (hits.length > MOST_FOUND) told.append(el("p", "", say("Type more of the name.")));
  }
  byId("search").addEventListener("submit", (event) => {
    event.preventDefault();
    find(byId("find").value, narrow.matches ? byId("panel-button") : byId("find"));
  });

  // Days ---------------------------------------------------------------------------------------

  const boxes = data.days.map((day, i) => {
    const box = el("input");
    box.type = "checkbox";
    box.checked = true;
    const count = strips.filter((item) => item.strip.day === i).length;
    const label = el("label");
    const passes = many(count, "{count} pass", "{count} passes");
    label.append(box, el("span", "", day), el("span", "many", passes));
    const row = el("li");
    row.append(label);
    byId("days").append(row);
    box.addEventListener("change", () => {
      dayShown[i] = box.checked;
      tellDays();
      redraw();
    });
    return box;
  });
  // On paper and beside a closed list it must be seen that days are left out.
  function tellDays() {
    const shown = data.days.filter((_, i) => dayShown[i]);
    let says = say("Shown: {shown} of {count} days", { shown: shown.length, count: data.days.length });
    if (shown.length < 4) {
      says = shown.length ? say("Shown: {days}", { days: shown.join(", ") }) : say("No day is shown");
    }
    byId("shown").textContent = shown.length === data.days.length ? "" : says;
  }
  function allDays(yes) {
    boxes.forEach((box, i) => {
      box.checked = yes;
      dayShown[i] = yes;
    });
    tellDays();
    redraw();
  }
  byId("all").addEventListener("click", () => allDays(true));
  byId("none").addEventListener("click", () => allDays(false));

  // What to look at ----------------------------------------------------------------------------

  if (data.anomalies.length) {
    byId("anomalies").append(el("h2", "", say("Look at this")));
    for (const [bed, says] of data.anomalies) {
      const button = el("button", "", says[0].toUpperCase() + says.slice(1));
      button.type = "button";
      button.addEventListener("click", () => {
        if (beds[bed]) show(beds[bed], narrow.matches ? panelButton : button);
      });
      byId("anomalies").append(button);
    }
    panelButton.textContent = many(
      data.anomalies.length,
      "Beds, days, {count} thing to look at",
      "Beds, days, {count} things to look at",
    );
  }

  document.body.classList.add("ready");
})();
