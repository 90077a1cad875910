// Draws the charts of a page from the option blocks in it, and makes the
// table of sites sortable and searchable. Without it every page can be read.
(function () {
  'use strict';

  // Order of drawing: the band beneath bars beneath points beneath the line
  // beneath its marks.
  var LAYER = { band: 1, interval: 2, wanted: 2, frames: 3, stems: 3, mean: 4, marks: 5 };

  // Sizes of charts for paper, in CSS pixels: the width between the margins of
  // an A4 sheet. The style sheet stretches them a little on a Letter sheet.
  var PAPER = { wide: 690, half: 338, high: 158, low: 128, enough: 106 };

  var charts = [];

  // ---- shapes of the custom series, by the names the options carry --------

  // Shapes of components: circle, triangle, square. States: filled is enough,
  // hollow too few, a cross not judged. r is half the width.
  function symbol(x, y, r, state, shape) {
    var style = { fill: state === 0 ? 'var(--series)' : 'var(--paper)', stroke: 'var(--series)', lineWidth: 1.5 };
    if (state === 2) {
      var bare = { stroke: 'var(--series)', lineWidth: 1.8 };
      return { type: 'group', children: [line(x - r, y - r, x + r, y + r, bare), line(x + r, y - r, x - r, y + r, bare)] };
    }
    if (shape === 1) {
      return { type: 'polygon', shape: { points: [[x, y - 1.2 * r], [x + 1.15 * r, y + 0.9 * r], [x - 1.15 * r, y + 0.9 * r]] }, style: style };
    }
    if (shape === 2) {
      r = 0.9 * r;
      return { type: 'polygon', shape: { points: [[x - r, y - r], [x + r, y - r], [x + r, y + r], [x - r, y + r]] }, style: style };
    }
    return { type: 'circle', shape: { cx: x, cy: y, r: r }, style: style };
  }

  // Marks shrink where years stand close.
  function markSize(api) { return Math.min(4.2, Math.max(2.4, api.size([1, 0])[0] * 0.17)); }

  function line(x1, y1, x2, y2, style) {
    return { type: 'line', shape: { x1: x1, y1: y1, x2: x2, y2: y2 }, style: style };
  }

  var SHAPES = {
    // value: year, low, high. All years at once: a polygon through the limits of
    // each run of consecutive years, and a short bar where a year stands alone.
    band: function () {
      return function (params, api) {
        if (params.context.done) { return; }
        params.context.done = true;
        var parts = [], upper = [], lower = [], last = null;
        function close() {
          if (upper.length === 1) {
            var half = Math.min(7, Math.max(2, api.size([1, 0])[0] * 0.19));
            upper = [[upper[0][0] - half, upper[0][1]], [upper[0][0] + half, upper[0][1]]];
            lower = [[lower[0][0] - half, lower[0][1]], [lower[0][0] + half, lower[0][1]]];
          }
          if (upper.length) {
            parts.push({ type: 'polygon', shape: { points: upper.concat(lower.reverse()) }, style: { fill: 'var(--range)' } });
          }
          upper = [];
          lower = [];
        }
        for (var k = 0; k < params.dataInsideLength; k++) {
          var year = api.value(0, k);
          if (last !== null && year !== last + 1) { close(); }
          lower.push(api.coord([year, api.value(1, k)]));
          upper.push(api.coord([year, api.value(2, k)]));
          last = year;
        }
        close();
        return { type: 'group', children: parts };
      };
    },
    // value: year, low, high, 1 when the lower end was cut at 0
    interval: function () {
      return function (params, api) {
        var top = api.coord([api.value(0), api.value(2)]);
        var foot = api.coord([api.value(0), api.value(1)]);
        var half = Math.min(3.5, Math.max(1.5, api.size([1, 0])[0] * 0.09));
        var cap = { stroke: 'var(--series)', lineWidth: 0.9 };
        var parts = [line(top[0], top[1], foot[0], foot[1], { stroke: 'var(--series)', lineWidth: 1.1 }),
          line(top[0] - half, top[1], top[0] + half, top[1], cap)];
        if (!api.value(3)) {
          parts.push(line(foot[0] - half, foot[1], foot[0] + half, foot[1], cap));
        }
        return { type: 'group', children: parts };
      };
    },
    // value: year, weight, place across the year within ±0.5, 1 when it lies
    // beyond the axis
    frame: function () {
      return function (params, api) {
        var at = api.coord([api.value(0), api.value(1)]);
        var wide = api.size([1, 0])[0];
        var x = at[0] + api.value(2) * Math.min(34, wide * 0.72), r = wide < 26 ? 1.4 : 1.8;
        if (api.value(3)) {
          return { type: 'polygon', shape: { points: [[x, at[1] - 7], [x + 3.5, at[1]], [x - 3.5, at[1]]] },
            style: { fill: 'var(--point)', stroke: 'var(--point)', lineWidth: 1 } };
        }
        return { type: 'circle', shape: { cx: x, cy: at[1], r: r }, style: { fill: 'none', stroke: 'var(--point)', lineWidth: 1 } };
      };
    },
    // value: year, mean, state, shape
    mark: function () {
      return function (params, api) {
        var at = api.coord([api.value(0), api.value(1)]);
        return symbol(at[0], at[1], markSize(api), api.value(2), api.value(3));
      };
    },
    // value: year, half-width, state, 1 when it lies beyond the axis
    stem: function () {
      return function (params, api) {
        var at = api.coord([api.value(0), api.value(1)]);
        var foot = api.coord([api.value(0), 0]);
        var stem = line(foot[0], foot[1], at[0], at[1], { stroke: 'var(--series)', lineWidth: 1.5 });
        var head = api.value(3)
          ? { type: 'polygon', shape: { points: [[at[0], at[1] - 9], [at[0] + 5, at[1]], [at[0] - 5, at[1]]] },
            style: { fill: 'var(--paper)', stroke: 'var(--series)', lineWidth: 1.6 } }
          : symbol(at[0], at[1], markSize(api), api.value(2), 0);
        return { type: 'group', children: [stem, head] };
      };
    },
    // value: unused, wanted half-width
    wanted: function (block) {
      return function (params, api) {
        var y = api.coord([0, api.value(1)])[1];
        var area = params.coordSys, right = area.x + area.width;
        var dash = { stroke: 'var(--ink)', lineWidth: 1.4, lineDash: [6, 4] };
        // Its words stand above the drawing, where no stem can cross them.
        var words = { type: 'text', x: right, y: area.y - 19,
          style: { text: block.wanted, textAlign: 'right', textVerticalAlign: 'middle', fill: 'var(--ink)', font: '12px ' + family() } };
        return { type: 'group', children: [line(area.x, y, right, y, dash), words] };
      };
    }
  };

  function family() { return getComputedStyle(document.body).fontFamily; }

  // Names of shapes become functions; nothing else in the block can.
  function revive(series, block) {
    var name = series.renderItem;
    if (typeof name === 'string' && name.charAt(0) === '@' && Object.prototype.hasOwnProperty.call(SHAPES, name.slice(1))) {
      series.renderItem = SHAPES[name.slice(1)](block);
    }
    series.z = LAYER[series.name] || 2;
    series.silent = true;
    return series;
  }

  // The tip is text, put in as text.
  function tip(block) {
    return function (items) {
      var p = document.createElement('p');
      p.className = 'tip';
      p.textContent = block.notes[items[0].axisValue] || items[0].axisValue;
      return p;
    };
  }

  function draw(box) {
    var source = document.getElementById(box.id + '-options');
    if (!source) { return; }
    var block = JSON.parse(source.textContent);
    var option = block.option;
    option.textStyle = { fontFamily: family() };
    option.series.forEach(function (s) { revive(s, block); });
    option.xAxis.forEach(function (a) { a.nameTextStyle = { color: 'var(--muted)', fontSize: 12 }; });
    option.yAxis.forEach(function (a) { a.nameTextStyle = { color: 'var(--muted)', fontSize: 12, align: 'left', padding: [0, 0, 0, -46] }; });
    option.tooltip.className = 'chart-tip';
    option.tooltip.confine = true;
    option.tooltip.transitionDuration = 0;
    option.tooltip.formatter = tip(block);
    option.tooltip.axisPointer = { type: 'line', lineStyle: { color: 'var(--muted)', type: 'dotted' } };
    var chart = echarts.init(box, null, { renderer: 'svg' });
    chart.setOption(option);
    charts.push({ box: box, chart: chart, bottom: option.grid[0].bottom, years: option.xAxis[0].name });
    fit(box);
    box.setAttribute('data-drawn', 'yes');
  }

  // The drawing scales as a whole where it meets a width it was not made for.
  // The library gives the background of every chart the same id, which a page
  // may hold once only.
  function fit(box) {
    var svg = box.querySelector('svg');
    svg.setAttribute('viewBox', '0 0 ' + parseFloat(svg.getAttribute('width')) + ' ' + parseFloat(svg.getAttribute('height')));
    Array.prototype.forEach.call(svg.querySelectorAll('rect[id]'), function (r) { r.removeAttribute('id'); });
  }

  // On paper the words above the charts say what the years are, and the room
  // is the charts'.
  function resize(size) {
    charts.forEach(function (c) {
      c.chart.setOption({ grid: { bottom: size ? 24 : c.bottom }, xAxis: { name: size ? '' : c.years } });
      c.chart.resize(size ? size(c.box) : { width: 'auto', height: 'auto' });
      c.chart.getZr().refreshImmediately(); // print does not wait for a frame
      fit(c.box);
    });
  }

  function paper(box) {
    var figure = box.closest('figure');
    var wide = figure.matches('.wide');
    var height = figure.matches('.enough') ? PAPER.enough : wide ? PAPER.high : PAPER.low;
    return { width: wide ? PAPER.wide : PAPER.half, height: height };
  }

  function startCharts() {
    if (typeof echarts === 'undefined') { return; }
    Array.prototype.forEach.call(document.querySelectorAll('.chart'), draw);
    var printing = false, waiting = false;
    window.addEventListener('resize', function () {
      if (printing || waiting) { return; }
      waiting = true;
      requestAnimationFrame(function () { waiting = false; if (!printing) { resize(); } });
    });
    window.addEventListener('beforeprint', function () { printing = true; resize(paper); });
    window.addEventListener('afterprint', function () { printing = false; resize(); });
  }

  // ---- the table of sites --------------------------------------------------

  function sortValue(row, column) {
    var cell = row.cells[column];
    if (!cell) { return ''; }
    return cell.hasAttribute('data-value') ? cell.getAttribute('data-value') : cell.textContent.trim();
  }

  // Blank cells go last whichever way the column is sorted.
  function compare(kind, down) {
    return function (a, b) {
      if (a.value === '' || b.value === '') { return (a.value === '') - (b.value === '') || a.place - b.place; }
      var d = kind === 'number' ? a.value - b.value : a.value.localeCompare(b.value, 'en', { numeric: true });
      return (down ? -d : d) || a.place - b.place;
    };
  }

  function sortable(table) {
    var body = table.tBodies[0];
    var heads = Array.prototype.slice.call(table.tHead.rows[0].cells);
    Array.prototype.forEach.call(body.rows, function (row, i) { row.setAttribute('data-place', i); });
    heads.forEach(function (head, column) {
      var kind = head.getAttribute('data-sort');
      if (!kind) { return; }
      var button = document.createElement('button');
      button.type = 'button';
      button.textContent = head.textContent;
      head.textContent = '';
      head.appendChild(button);
      button.addEventListener('click', function () {
        var down = head.getAttribute('aria-sort') === 'ascending';
        heads.forEach(function (h) { h.removeAttribute('aria-sort'); });
        head.setAttribute('aria-sort', down ? 'descending' : 'ascending');
        Array.prototype.map.call(body.rows, function (row) {
          return { row: row, value: sortValue(row, column), place: Number(row.getAttribute('data-place')) };
        }).sort(compare(kind, down)).forEach(function (item) { body.appendChild(item.row); });
      });
    });
  }

  function filterable(table, box) {
    var input = box.querySelector('input');
    var shown = box.querySelector('#shown');
    var rows = Array.prototype.slice.call(table.tBodies[0].rows);
    function apply() {
      var words = input.value.toLowerCase().split(/\s+/).filter(Boolean);
      var n = 0;
      rows.forEach(function (row) {
        var text = row.textContent.toLowerCase();
        row.hidden = !words.every(function (w) { return text.indexOf(w) >= 0; });
        n += row.hidden ? 0 : 1;
      });
      shown.textContent = n + ' of ' + rows.length + (rows.length === 1 ? ' site' : ' sites');
    }
    box.hidden = false;
    input.addEventListener('input', apply);
    apply();
  }

  function start() {
    startCharts();
    var table = document.getElementById('sites');
    if (table) {
      sortable(table);
      filterable(table, document.querySelector('.filter'));
    }
  }

  start(); // deferred: the document has been read
}());
