(function () {
  "use strict";
  function keyOf(row, column) {
    var cell = row.cells[column];
    var raw = cell.getAttribute("data-v");
    return raw === null ? cell.textContent.trim() : Number(raw);
  }
  function compare(a, b) {
    if (typeof a === "number" && typeof b === "number") { return a - b; }
    if (a === "" || b === "") { return a === b ? 0 : (a === "" ? 1 : -1); }
    return String(a).localeCompare(String(b), "en", { numeric: true });
  }
  function sort(table, heading, column) {
    var down = heading.getAttribute("aria-sort") === "ascending";
    var body = table.tBodies[0];
    var rows = Array.prototype.slice.call(body.rows);
    rows.sort(function (a, b) { return (down ? -1 : 1) * compare(keyOf(a, column), keyOf(b, column)); });
    rows.forEach(function (row) { body.appendChild(row); });
    Array.prototype.forEach.call(table.tHead.rows[0].cells, function (head) { head.removeAttribute("aria-sort"); });
    heading.setAttribute("aria-sort", down ? "descending" : "ascending");
  }
  document.querySelectorAll("table").forEach(function (table) {
    // A buying list has two lines a feed, and days are written in words: they keep their order.
    var dated = /^(buying$|winter_group|changes|run_out|plan_shortfalls|first_buys)/;
    if (table.tBodies[0].rows.length < 3 || dated.test(table.dataset.name)) { return; }
    Array.prototype.forEach.call(table.tHead.rows[0].cells, function (heading, column) {
      var button = document.createElement("button");
      button.type = "button";
      while (heading.firstChild) { button.appendChild(heading.firstChild); }
      heading.appendChild(button);
      button.addEventListener("click", function () { sort(table, heading, column); });
    });
  });
  function add(parent, tag, text) {
    var made = document.createElement(tag);
    made.textContent = text;
    parent.appendChild(made);
    return made;
  }
  function show(output, step) {
    output.textContent = "";
    add(output, "p", step.words).className = "share";
    var list = add(output, "dl", "");
    step.rows.forEach(function (row) {
      add(list, "dt", "").appendChild(document.createElement("bdi")).textContent = row[0];
      add(list, "dd", row[1]);
    });
    add(output, "p", step.remark ? "From here on: " + step.remark : "").className = "turns";
  }
  document.querySelectorAll(".slider").forEach(function (part) {
    var steps = JSON.parse(part.querySelector("script").textContent);
    var slider = part.querySelector("input");
    var mark = document.createElementNS("http://www.w3.org/2000/svg", "circle");
    mark.setAttribute("r", "6");
    mark.setAttribute("class", "at");
    part.querySelector("svg.chart").appendChild(mark);
    function move() {
      var step = steps[Number(slider.value)];
      mark.setAttribute("cx", step.x + "%");
      mark.setAttribute("cy", step.y);
      slider.setAttribute("aria-valuetext", step.words);
      show(part.querySelector("output"), step);
    }
    slider.addEventListener("input", move);
    part.querySelector("form").hidden = false;
    part.querySelector("form").addEventListener("submit", function (event) { event.preventDefault(); });
    move();
  });
  var root = document.documentElement;
  function printed(all) {
    var folds = Array.prototype.slice.call(document.querySelectorAll("details"));
    var open = folds.map(function (fold) { return fold.open; });
    root.classList.toggle("first-only", !all);
    if (all) { folds.forEach(function (fold) { fold.open = true; }); }
    addEventListener("afterprint", function () {
      root.classList.remove("first-only");
      folds.forEach(function (fold, number) { fold.open = open[number]; });
    }, { once: true });
    print();
  }
  document.getElementById("print-first").addEventListener("click", function () { printed(false); });
  document.getElementById("print-all").addEventListener("click", function () { printed(true); });
  document.querySelector(".acts").hidden = false;
}());
