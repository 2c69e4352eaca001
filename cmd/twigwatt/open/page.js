(function () {
  "use strict";
  var $ = function (id) { return document.getElementById(id); };
  var own = null;      // the year as it is
  var file = null;     // the scenario's file: its text's version, whether it may be kept
  var values = {};     // in force, by key
  var changed = {};    // keys moved and not kept
  var newest = null;   // the question that is on its way: the next one takes its place

  // element makes an element with a text and children.
  var element = function (name, text, more) {
    var e = document.createElement(name);
    if (text !== undefined) { e.textContent = text; }
    Object.keys(more || {}).forEach(function (key) { e.setAttribute(key, more[key]); });
    return e;
  };
  var say = function (text) { $("state").textContent = text; };

  // ask posts a question; what is wrong comes back as an error with its faults.
  var ask = function (path, body, signal) {
    return fetch(path, { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify(body), signal: signal })
      .then(function (answer) {
        return answer.json().then(function (document) {
          if (!answer.ok) {
            var wrong = new Error("refused");
            wrong.faults = document.faults || [];
            wrong.document = document;
            wrong.status = answer.status;
            throw wrong;
          }
          return document;
        });
      });
  };

  var showFaults = function (faults) {
    $("faults").replaceChildren();
    document.querySelectorAll(".key .fault").forEach(function (e) { e.textContent = ""; });
    faults.forEach(function (f) {
      $("faults").append(element("li", (f.key ? f.key + ": " : "") + f.text));
      var beside = document.querySelector('.key[data-key="' + CSS.escape(f.key || "") + '"] .fault');
      if (beside) { beside.textContent = f.text; }
    });
  };

  // compare shows the year as it is beside the year that was tried; what differs is marked.
  var compare = function (tried) {
    var rows = own.answers.map(function (answer, i) {
      var row = element("tr"), other = tried.answers[i] && tried.answers[i].label === answer.label ? tried.answers[i]
        : tried.answers.find(function (a) { return a.label === answer.label; });
      row.append(element("th", answer.label, { scope: "row" }), element("td", answer.text));
      var cell = element("td", other ? other.text : "");
      if (other && other.text !== answer.text) { cell.className = "changed"; }
      row.append(cell);
      return row;
    });
    tried.answers.forEach(function (answer) {
      if (own.answers.some(function (a) { return a.label === answer.label; })) { return; }
      var row = element("tr");
      row.append(element("th", answer.label, { scope: "row" }), element("td", "none"), element("td", answer.text, { "class": "changed" }));
      rows.push(row);
    });
    $("compared").replaceChildren.apply($("compared"), rows);
    draw(tried.nights);
  };

  // draw paints the year night by night: a column a day, from noon to noon, so that a night stands whole.
  var drawn = null;
  var draw = function (nights) {
    drawn = nights;
    var canvas = $("nights"), pen = canvas.getContext("2d"), hours = nights.hours_a_day;
    var days = Math.ceil(nights.charge_pct.length / hours);
    canvas.width = Math.max(365, Math.round(canvas.clientWidth * (window.devicePixelRatio || 1)));
    canvas.height = 9 * 24;
    var css = getComputedStyle(document.documentElement), wide = canvas.width / (days + 1), high = canvas.height / 24;
    var colour = function (name) { return css.getPropertyValue("--" + name).trim(); };
    pen.clearRect(0, 0, canvas.width, canvas.height);
    for (var i = 0; i < nights.charge_pct.length; i++) {
      var fromNoon = i + hours / 2, x = Math.floor(fromNoon / hours) * wide, y = (fromNoon % hours) * high * 24 / hours;
      var what = nights.what[i];
      pen.globalAlpha = what === "d" || what === "r" ? 1 : Math.max(0.08, (nights.charge_pct[i] - nights.floor_pct) / (100 - nights.floor_pct));
      pen.fillStyle = colour(what === "d" ? "short" : what === "r" ? "engine" : what === "s" ? "sun" : "bank");
      pen.fillRect(x, y, Math.ceil(wide), Math.ceil(high * 24 / hours));
    }
    pen.globalAlpha = 1;
    pen.fillStyle = colour("ink");
    nights.full_days.forEach(function (day) { pen.fillRect((day + 0.5) * wide, 0, Math.max(1, wide), 3); });
  };
  var tell = function (day) {
    if (!drawn || day < 0 || day >= drawn.runs.length) { return; }
    var date = new Date(drawn.start + "T12:00:00");
    date.setDate(date.getDate() + day);
    var hours = drawn.hours_a_day, lowest = Math.min.apply(null, drawn.charge_pct.slice(day * hours, (day + 1) * hours));
    var dark = drawn.what.slice(day * hours, (day + 1) * hours).split("d").length - 1;
    $("night").textContent = date.toDateString() + ": " + (drawn.runs[day] ? "run " + drawn.runs[day] : "no run") + "; lowest " + lowest + " %" +
      (dark ? "; dark in " + dark + " hours" : "") + (drawn.full_days.indexOf(day) >= 0 ? "; full" : "");
  };
  var shown = 0;
  $("nights").addEventListener("click", function (event) {
    var box = $("nights").getBoundingClientRect();
    shown = Math.min(drawn.runs.length - 1, Math.floor((event.clientX - box.left) / box.width * (drawn.runs.length + 1)));
    tell(shown);
  });
  $("nights").addEventListener("keydown", function (event) {
    var step = { ArrowLeft: -1, ArrowRight: 1 }[event.key];
    if (step && drawn) {
      event.preventDefault();
      shown = Math.max(0, Math.min(drawn.runs.length - 1, shown + step));
      tell(shown);
    }
  });

  // plan tries the year with what was moved: the newest move wins, and older work is given up.
  var plan = function (exactly) {
    if (newest) { newest.abort(); }
    var mine = newest = new AbortController();
    say("planning …");
    $("keep").disabled = !file || file.example || Object.keys(changed).length === 0;
    return ask("/try", { set: changed, options: exactly ? { step: "own" } : {} }, mine.signal).then(function (tried) {
      if (newest !== mine) { return; }
      if (Object.keys(changed).length === 0) { own = tried; }
      showFaults([]);
      compare(tried);
      say(Object.keys(changed).length === 0 ? "as it is" : "what if: " + Object.keys(changed).map(function (key) { return key + " = " + changed[key]; }).join(", "));
    }).catch(function (wrong) {
      if (wrong.name === "AbortError") { return; }
      showFaults(wrong.faults || [{ text: "the program does not answer: is it still open?" }]);
      say("not planned");
    });
  };

  var move = function (key, value) {
    if (value === null || value === values[key]) { delete changed[key]; } else { changed[key] = value; }
  };
  var sliders = Array.from(document.querySelectorAll("#sliders input"));
  var setSlider = function (slider) {
    var key = slider.dataset.key, value = changed[key] !== undefined ? changed[key] : values[key];
    slider.value = value === undefined || value === "none" ? slider.dataset.fallback : value;
    slider.previousElementSibling.textContent = (value === undefined || value === "none" ? "not given" : slider.value) + " " + slider.dataset.unit;
  };
  sliders.forEach(function (slider) {
    var moved = function (exactly) {
      var key = slider.dataset.key, none = key.indexOf("panels.") === 0 && Number(slider.value) === 0;
      slider.previousElementSibling.textContent = (none ? "none" : slider.value) + " " + slider.dataset.unit;
      move(key, none ? null : slider.value);
      plan(exactly);
    };
    slider.addEventListener("input", function () { moved(false); });
    slider.addEventListener("change", function () { moved(true); });
  });
  $("reset").addEventListener("click", function () { changed = {}; sliders.forEach(setSlider); fields(); plan(true); });

  // the keys, by table, each with what it may hold, means and rests on
  var settings = [];
  var fields = function () {
    var wanted = $("find").value.trim().toLowerCase(), tables = {};
    settings.forEach(function (s) {
      if (wanted && (s.key + " " + s.meaning).toLowerCase().indexOf(wanted) < 0) { return; }
      var table = s.key.indexOf(".") < 0 ? "the span" : s.key.slice(0, s.key.lastIndexOf("."));
      (tables[table] = tables[table] || []).push(s);
    });
    $("all").replaceChildren.apply($("all"), Object.keys(tables).map(function (table) {
      var part = element("details");
      part.open = wanted !== "";
      part.append(element("summary", table));
      tables[table].forEach(function (s) {
        var row = element("div", undefined, { "class": "key", "data-key": s.key }), input = element("input", undefined, { "aria-label": s.key });
        input.value = changed[s.key] !== undefined ? changed[s.key] : s.value === "none" ? "" : s.value;
        input.disabled = /\.file$/.test(s.key);
        input.addEventListener("change", function () {
          move(s.key, input.value.trim() === "" ? null : input.value.trim());
          sliders.forEach(setSlider);
          plan(true);
        });
        row.append(element("label", s.key.slice(s.key.lastIndexOf(".") + 1) + (s.unit ? " (" + s.unit + ")" : "")), input,
          element("small", s.meaning + "; " + s.allowed + "; " + s.source), element("span", "", { "class": "fault" }));
        part.append(row);
      });
      return part;
    }));
  };
  $("find").addEventListener("input", fields);

  // load reads the scenario as it stands.
  var load = function () {
    return fetch("/scenario").then(function (answer) { return answer.json(); }).then(function (document) {
      file = document;
      $("back").disabled = document.back === 0;
      return ask("/check", { set: {}, options: {} });
    }).then(function (checked) {
      settings = checked.settings;
      values = {};
      settings.forEach(function (s) { values[s.key] = s.value.replace(/^"(.*)"$/, "$1"); });
      sliders.forEach(setSlider);
      fields();
      return plan(true);
    }).catch(function (wrong) { showFaults(wrong.faults || [{ text: "the scenario cannot be read" }]); say("not read"); });
  };

  var stored = function (path, done) {
    return ask(path, { set: path === "/keep" ? changed : {}, options: {}, base: file.version }).then(function () {
      changed = {};
      return load().then(function () { say(done); });
    }).catch(function (wrong) {
      showFaults(wrong.faults || [{ text: "not kept" }]);
      if (wrong.status === 409) {
        say("the file was changed meanwhile: what stands there now is shown below, and nothing was overwritten");
        $("answer").replaceChildren(element("h3", "the file as it is now"), element("pre", wrong.document.text), element("h3", "what you moved"),
          element("pre", Object.keys(changed).map(function (key) { return key + " = " + changed[key]; }).join("\n")));
        file.version = wrong.document.version;
      }
    });
  };
  $("keep").addEventListener("click", function () {
    if (file.example) { showFaults([{ text: "an example is not written to: twigwatt new home.toml, then twigwatt open home.toml" }]); return; }
    stored("/keep", "kept");
  });
  $("back").addEventListener("click", function () { stored("/back", "taken back"); });

  // table shows a list of objects, and the plain values of an object.
  var table = function (document) {
    var all = element("div");
    Object.keys(document).forEach(function (key) {
      var value = document[key];
      if (key === "cautions" || key === "format") { return; }
      if (Array.isArray(value) && value.length && typeof value[0] === "object") {
        var t = element("table"), head = element("tr");
        Object.keys(value[0]).forEach(function (column) { if (typeof value[0][column] !== "object") { head.append(element("th", column.replace(/_/g, " "), { scope: "col" })); } });
        t.append(head);
        value.forEach(function (row) {
          var line = element("tr");
          Object.keys(row).forEach(function (column) { if (typeof row[column] !== "object" || row[column] === null) { line.append(element("td", number(row[column]))); } });
          t.append(line);
        });
        var part = element("details");
        part.append(element("summary", key.replace(/_/g, " ")), t);
        all.append(part);
      } else if (value !== null && typeof value === "object" && !Array.isArray(value)) {
        all.append(element("h3", key.replace(/_/g, " ")), table(value));
      } else if (!Array.isArray(value)) {
        all.append(element("p", key.replace(/_/g, " ") + ": " + number(value)));
      }
    });
    return all;
  };
  var number = function (x) { return typeof x === "number" ? String(Math.round(100 * x) / 100) : x === null ? "none" : String(x); };

  // stream asks a long question: told is called with how far it has come, done with the answer.
  var stream = function (path, body, signal, told, done) {
    return fetch(path, { method: "POST", headers: { "Content-Type": "application/json", Accept: "text/event-stream" },
      body: JSON.stringify(body), signal: signal }).then(function (answer) {
      var reader = answer.body.getReader(), decoder = new TextDecoder(), text = "";
      var take = function (part) {
        text += part.done ? "" : decoder.decode(part.value, { stream: true });
        var events = text.split("\n\n");
        text = events.pop();
        events.forEach(function (event) {
          var name = /^event: (.*)/.exec(event)[1], data = event.split("\n").slice(1).map(function (line) { return line.slice(6); }).join("\n");
          var document = JSON.parse(data);
          if (name === "progress") { told(document); }
          if (name === "answer") { done(document); }
          if (name === "fault") { throw Object.assign(new Error("refused"), { faults: document.faults }); }
        });
        return part.done ? null : reader.read().then(take);
      };
      return reader.read().then(take);
    });
  };
  // long asks one with progress and a stop, and shows into a place what is wrong.
  var long = function (name, path, place, done) {
    var stopper = new AbortController();
    $("stop").hidden = $("progress").hidden = false;
    $("progress").removeAttribute("value");
    $("stop").onclick = function () { stopper.abort(); };
    place.replaceChildren(element("p", name + " …"));
    stream(path, { set: changed, options: {} }, stopper.signal, function (progress) {
      $("progress").max = progress.of;
      $("progress").value = progress.done;
    }, done).catch(function (wrong) {
      var text = wrong.name === "AbortError" ? name + " was stopped" :
        (wrong.faults || [{ key: "", text: "the program does not answer" }]).map(function (f) { return f.key + " " + f.text; }).join("; ");
      place.replaceChildren(element("p", text, { "class": "fault" }));
    }).finally(function () { $("stop").hidden = $("progress").hidden = true; });
  };
  document.querySelectorAll("[data-question]").forEach(function (button) {
    var question = button.dataset.question;
    button.addEventListener("click", function () {
      long(question, "/" + question, $("answer"), function (document) { $("answer").replaceChildren(element("h3", question), table(document)); });
    });
  });

  // the map: dark days by the hours a day and the bank's size; a tap sets the sliders
  $("mapit").addEventListener("click", function () {
    long("the map", "/map", $("map"), function (map) {
      var t = element("table"), head = element("tr"), most = Math.max.apply(null, map.shortfall_days.concat([1]));
      t.append(element("caption", "Dark days a year, by hours a day (down) and bank in kWh (across); framed: as it is"));
      head.append(element("th", "h \\ kWh", { scope: "col" }));
      map.kwh.forEach(function (kwh) { head.append(element("th", String(kwh), { scope: "col" })); });
      t.append(head);
      map.max_hours.forEach(function (hours, i) {
        var row = element("tr");
        row.append(element("th", String(hours), { scope: "row" }));
        map.kwh.forEach(function (kwh, j) {
          var days = map.shortfall_days[i * map.kwh.length + j], cell = element("td"), button = element("button", String(days), { type: "button",
            "aria-label": days + " dark days with " + hours + " hours a day and " + kwh + " kWh" });
          cell.style.background = "color-mix(in srgb, var(--short) " + Math.round(75 * Math.sqrt(days / most)) + "%, var(--panel))";
          if (hours === map.own.max_hours && kwh === Math.round(10 * map.own.kwh) / 10) { cell.className = "own"; }
          button.addEventListener("click", function () {
            move("tending.max_hours_a_day", String(hours));
            move("battery.kwh", String(kwh));
            sliders.forEach(setSlider);
            plan(true);
          });
          cell.append(button);
          row.append(cell);
        });
        t.append(row);
      });
      $("map").replaceChildren(t);
    });
  });
  $("fresh").addEventListener("submit", function (event) {
    event.preventDefault();
    ask("/new", { set: {}, options: { from: new FormData($("fresh")).get("from") }, base: file.version }).then(function () {
      changed = {};
      own = null;
      return load().then(function () { say("put in place; take back brings the old one back"); });
    }).catch(function (wrong) { showFaults(wrong.faults || [{ text: "not put in place" }]); });
  });

  // tonight's sheet
  $("day").addEventListener("submit", function (event) {
    event.preventDefault();
    var options = {};
    new FormData($("day")).forEach(function (value, name) { if (value !== "") { options[name] = value; } });
    ask("/day", { set: changed, options: options }).then(function (sheet) {
      var lines = sheet.runs.map(function (r) {
        return "MATCH " + r.match.slice(11) + (r.engine_on ? ", engine on " + r.engine_on.slice(11) : "") + r.refuel.map(function (at) { return ", refuel " + at.slice(11); }).join("") +
          ", STOP " + r.stop.slice(11) + " (" + number(r.made_kwh) + " kWh, " + Math.ceil(r.wood_as_is_kg) + " kg of wood)";
      }).concat(sheet.standby.map(function (p) { return "PETROL SET " + p.start.slice(11) + " to " + p.stop.slice(11) + ", " + number(p.litres) + " l"; }));
      var list = element("ul");
      (lines.length ? lines : ["no run"]).forEach(function (line) { list.append(element("li", line)); });
      var care = element("ul");
      sheet.cautions.forEach(function (caution) { care.append(element("li", caution)); });
      $("sheet").replaceChildren(element("h3", sheet.scenario + ", " + sheet.at.replace("T", " ")), list,
        element("p", "next morning " + Math.round(sheet.morning_soc_pct) + " %" + (sheet.skip ? "; without the run " + Math.round(sheet.skip.morning_soc_pct) +
          " %, and dark in " + Math.round(100 * sheet.skip.dark_share) + " of 100 trials, with it in " + Math.round(100 * sheet.skip.dark_share_with_run) : "")), care);
    }).catch(function (wrong) {
      $("sheet").replaceChildren(element("p", (wrong.faults || [{ text: "the program does not answer" }]).map(function (f) { return f.text; }).join("; "), { "class": "fault" }));
    });
  });
  if ($("run")) {
    $("run").addEventListener("submit", function (event) {
      event.preventDefault();
      var options = {};
      new FormData($("run")).forEach(function (value, name) { if (value !== "") { options[name] = value; } });
      ask("/diary", { set: {}, options: options }).then(function (added) { $("added").textContent = "added " + added.added + ", " + added.rows + " runs"; $("run").reset(); })
        .catch(function (wrong) { $("added").textContent = (wrong.faults || [{ text: "not added" }]).map(function (f) { return f.text; }).join("; "); });
    });
  }
  load();
})();
