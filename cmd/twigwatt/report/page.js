(function () {
  "use strict";
  var styles = function () { return getComputedStyle(document.documentElement); };
  var thousands = function (x) { return String(Math.round(x)).replace(/\B(?=(\d{3})+(?!\d))/g, " "); };
  // what an option may name with @@: a function of ours, else a colour of the page
  var functions = { thousands: thousands };
  var fill = function (x, colour) {
    if (typeof x === "string" && x.slice(0, 2) === "@@") {
      return functions[x.slice(2)] || colour(x.slice(2));
    }
    if (Array.isArray(x)) { return x.map(function (y) { return fill(y, colour); }); }
    if (x && typeof x === "object") {
      var filled = {};
      Object.keys(x).forEach(function (key) { filled[key] = fill(x[key], colour); });
      return filled;
    }
    return x;
  };
  var charts = [];
  var draw = function (printing) {
    charts.forEach(function (chart) { chart.dispose(); });
    charts = [];
    var css = styles();
    var colour = function (name) { return css.getPropertyValue((printing ? "--print-" : "--") + name).trim(); };
    document.querySelectorAll("script[data-for]").forEach(function (script) {
      var box = document.getElementById(script.getAttribute("data-for"));
      var option = fill(JSON.parse(script.textContent), colour);
      option.animation = false;
      option.textStyle = { color: colour("ink"), fontSize: printing ? 11 : 13, fontFamily: "system-ui, sans-serif" };
      box.style.width = printing ? (document.getElementById("card") ? "480px" : "660px") : "";
      var tall = box.className.indexOf("tall") >= 0, crowded = document.querySelector(".months"); // a year's page has many
      box.style.height = printing ? (crowded ? (tall ? "262px" : "165px") : (tall ? "340px" : "210px")) : "";
      if (printing) { delete option.dataZoom; }
      if (box.clientWidth < 600) { option.xAxis.forEach(function (x) { if (x.axisLabel.interval === 0) { x.axisLabel.rotate = 25; } }); }
      if (box.clientWidth < 600) { option.legend.type = "scroll"; option.legend.left = 0; option.legend.pageTextStyle = option.legend.textStyle; }
      var chart = echarts.init(box, null, { renderer: "canvas" });
      chart.setOption(option);
      charts.push(chart);
    });
  };
  document.querySelectorAll("section details").forEach(function (d) { // a table that no picture tells stays open
    var section = d.closest("section");
    d.open = section.id !== "rests" && !section.querySelector(".chart, svg");
  });
  draw(false);
  window.addEventListener("resize", function () { charts.forEach(function (chart) { chart.resize(); }); });
  matchMedia("(prefers-color-scheme: dark)").addListener(function () { draw(false); });
  var printed = []; // short tables, open on paper alone
  window.addEventListener("beforeprint", function () {
    const mostRows = 16;
    if (!document.querySelector(".months")) {
      printed = Array.from(document.querySelectorAll("section:not(#rests) details:not([open])")).filter(function (d) { return d.querySelectorAll("tbody tr").length <= mostRows; });
      printed.forEach(function (d) { d.open = true; });
    }
    draw(true);
  });
  window.addEventListener("afterprint", function () {
    printed.forEach(function (d) { d.open = false; });
    printed = [];
    draw(false);
  });
})();
