"use strict";
(function () {
  var all = function (query, inside) { return Array.prototype.slice.call((inside || document).querySelectorAll(query)); };
  var drawn = window.routeMap, picked = null, leg = -1;

  // Runs on the map: all of them thin, or one of them with its numbered stops.
  function markOn(marker, on, word) { var icon = marker.getElement(); if (icon) { icon.classList.toggle(word, on); } }
  function draw() {
    if (!drawn) { return; }
    Object.keys(drawn.runs).forEach(function (id) {
      var run = drawn.runs[id], mine = picked === id;
      run.lines.forEach(function (line, number) {
        var now = mine && leg === number;
        line.setStyle({ opacity: picked === null ? 0.85 : mine ? (leg < 0 || now ? 1 : 0.35) : 0.12, weight: now ? 7 : mine ? 5 : 3 });
        if (mine) { line.bringToFront(); }
      });
      run.stops.forEach(function (stop) { markOn(stop, mine, "on"); });
      markOn(run.label, picked !== null && !mine, "off");
    });
  }
  function fit(lines) {
    var box = L.latLngBounds([]);
    lines.forEach(function (line) { box.extend(line.getBounds()); });
    if (box.isValid()) { drawn.map.fitBounds(box, { padding: [40, 40], maxZoom: 11, animate: false }); }
  }
  function everyLine() {
    return Object.keys(drawn.runs).reduce(function (lines, run) { return lines.concat(drawn.runs[run].lines); }, []);
  }
  function pick(id, visit) {
    picked = id; leg = -1;
    all("[data-pick]").forEach(function (button) { if (button.hasAttribute("aria-pressed")) { button.setAttribute("aria-pressed", String(button.dataset.pick === id)); } });
    all("[data-run]").forEach(function (row) { row.classList.toggle("picked", row.dataset.run === id); });
    var follow = document.querySelector(".follow");
    if (follow) { follow.hidden = id === null; }
    if (drawn) { fit(id === null ? everyLine() : drawn.runs[id].lines); }
    draw(); say();
    if (visit && drawn && drawn.runs[id].stops[visit - 1]) { drawn.map.setView(drawn.runs[id].stops[visit - 1].getLatLng(), 9, { animate: false }); }
  }
  function say() {
    var box = document.getElementById("leg-says");
    if (!box) { return; }
    all(".steps li.now").forEach(function (step) { step.classList.remove("now"); });
    if (picked === null) { box.textContent = ""; return; }
    var sheet = document.getElementById("run-" + picked);   // drives that only a break divides are one leg on the map
    var now = all("li[data-leg]", sheet).filter(function (step) { return Number(step.dataset.leg) === leg; });
    box.textContent = leg < 0 ? sheet.querySelector("h3").textContent : now.map(function (step) { step.classList.add("now"); return step.textContent.replace(/\s+/g, " ").trim(); }).join("; ");
  }
  function step(by) {
    if (picked === null || !drawn) { return; }
    var count = drawn.runs[picked].lines.length;
    leg = Math.max(0, Math.min(count - 1, leg + by));
    fit([drawn.runs[picked].lines[leg]]); draw(); say();
  }
  document.addEventListener("click", function (event) {
    var button = event.target.closest("[data-pick]");
    if (!button) { return; }
    var again = button.getAttribute("aria-pressed") === "true";
    pick(again ? null : button.dataset.pick, Number(button.dataset.visit || 0));
    if (!button.hasAttribute("aria-pressed")) { document.getElementById("where").scrollIntoView(); }
  });
  [["all-runs", function () { pick(null); }], ["previous-leg", function () { step(-1); }], ["next-leg", function () { step(1); }],
   ["print", function () { window.print(); }]].forEach(function (pair) {
    var button = document.getElementById(pair[0]);
    if (button) { button.addEventListener("click", pair[1]); }
  });
  document.addEventListener("keydown", function (event) {
    if (picked === null || /input|select|textarea/i.test(event.target.tagName)) { return; }
    if (event.key === "n") { step(1); } else if (event.key === "p") { step(-1); } else if (event.key === "Escape") { pick(null); }
  });
  var folded = document.querySelectorAll("details.notes"), were = [];   // paper cannot be unfolded
  window.addEventListener("beforeprint", function () { folded.forEach(function (one, at) { were[at] = one.open; one.open = true; }); });
  window.addEventListener("afterprint", function () { folded.forEach(function (one, at) { one.open = were[at]; }); });
  if (drawn) {
    var rank = function () { var zoom = drawn.map.getZoom(), box = drawn.map.getContainer(); box.classList.toggle("far", zoom < 6.9); box.classList.toggle("middle", zoom >= 6.9 && zoom < 8.4); };
    drawn.map.on("zoomend", rank); rank(); draw();
    var onPaper = function (on) {   // the map is laid out anew for the width of the paper, then again for the screen
      document.body.classList.toggle("printing", on);
      drawn.map.invalidateSize({ animate: false });
      fit(picked === null ? everyLine() : drawn.runs[picked].lines);
    };
    window.addEventListener("beforeprint", function () { onPaper(true); });
    window.addEventListener("afterprint", function () { onPaper(false); });
    Object.keys(drawn.runs).forEach(function (id) {
      drawn.runs[id].lines.forEach(function (line) { line.on("click", function () { pick(id); }); });
      drawn.runs[id].label.on("click", function () { pick(id); });
    });
  }

  // Tables: filter by words and by state, sort by a heading.
  all("form.filter").forEach(function (form) {
    var rows = all("#" + form.dataset.table + " tbody tr"), texts = rows.map(function (row) { return row.textContent.toLowerCase(); });
    function filter() {
      var words = form.elements.text.value.toLowerCase().split(/\s+/), state = form.elements.state.value, shown = 0;
      rows.forEach(function (row, number) {
        var fits = (!state || row.dataset.state === state) && words.every(function (word) { return texts[number].indexOf(word) >= 0; });
        row.hidden = !fits; shown += fits ? 1 : 0;
      });
      form.querySelector("output").textContent = shown + " / " + rows.length;
    }
    form.addEventListener("input", filter); form.addEventListener("submit", function (event) { event.preventDefault(); }); filter();
  });
  all("table[id] thead th").forEach(function (head) {
    var button = head.querySelector("button");
    if (!button) { return; }
    button.addEventListener("click", function () {
      var up = head.getAttribute("aria-sort") !== "ascending", column = head.cellIndex, body = head.closest("table").tBodies[0];
      all("th", head.parentNode).forEach(function (other) { other.removeAttribute("aria-sort"); });
      head.setAttribute("aria-sort", up ? "ascending" : "descending");
      var value = function (row) { var cell = row.cells[column]; return cell.dataset.value || cell.textContent.trim(); };
      all("tr", body).sort(function (a, b) { return (up ? 1 : -1) * value(a).localeCompare(value(b), "en", { numeric: true }); })
        .forEach(function (row) { body.appendChild(row); });
    });
  });
  function openStory() {
    var row = location.hash.indexOf("#order-") === 0 && document.getElementById(location.hash.slice(1));
    if (row) { row.hidden = false; row.querySelector("details").open = true; row.scrollIntoView({ block: "center" }); }
  }
  window.addEventListener("hashchange", openStory); openStory();
})();
