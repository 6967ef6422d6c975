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
    Array.prototype.forEach.call(table.tHead.rows[0].cells, function (one) { one.removeAttribute("aria-sort"); });
    heading.setAttribute("aria-sort", down ? "descending" : "ascending");
  }
  document.querySelectorAll("table").forEach(function (table) {
    // A buying list has two lines a feed; they belong together.
    if (table.tBodies[0].rows.length < 3 || table.className === "buying") { return; }
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
  function show(output, point) {
    output.textContent = "";
    add(output, "p", point.share).className = "share";
    var list = add(output, "dl", "");
    point.rows.forEach(function (row) {
      add(list, "dt", "").appendChild(document.createElement("bdi")).textContent = row[0];
      add(list, "dd", row[1]);
    });
    add(output, "p", point.turns ? "From here on: " + point.turns : "").className = "turns";
  }
  document.querySelectorAll("article.switch").forEach(function (part) {
    var points = JSON.parse(part.querySelector("script").textContent);
    var slider = part.querySelector("input");
    var svg = part.querySelector("svg");
    var mark = document.createElementNS("http://www.w3.org/2000/svg", "circle");
    mark.setAttribute("r", "5");
    mark.setAttribute("fill", "#b3261e");
    mark.setAttribute("stroke", "#ffffff");
    svg.appendChild(mark);
    function move() {
      var point = points[Number(slider.value)];
      mark.setAttribute("cx", point.x);
      mark.setAttribute("cy", point.y);
      slider.setAttribute("aria-valuetext", point.share);
      show(part.querySelector("output"), point);
    }
    slider.addEventListener("input", move);
    part.querySelector("form").hidden = false;
    part.querySelector("form").addEventListener("submit", function (event) { event.preventDefault(); });
    move();
  });
  document.querySelector(".hint").hidden = false;
}());
