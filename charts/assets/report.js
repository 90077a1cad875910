// Draws the charts of a page from the option blocks in it, and makes the
// table of sites sortable and searchable. Without it every page can be read.
(function () {
  'use strict';

  // Order of drawing: the band beneath bars beneath points beneath the line
  // beneath its marks.
  var LAYER = { classes: 0, band: 1, stack: 1, interval: 2, wanted: 2, fit: 2, frames: 3, stems: 3, mean: 4, marks: 5, dots: 5, trend: 4 };

  // Sizes of charts for paper, in CSS pixels: the width between the margins of
  // an A4 sheet. The style sheet stretches them a little on a Letter sheet.
  var PAPER = { wide: 690, half: 338, high: 158, low: 108, enough: 118, plane: 132, rain: 222 };

  // Words stand beside a drawing that is at least so wide, in CSS pixels.
  var ROOM = 560;

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
    // The points of all years at once, from the block. They are spread sideways
    // by multiples of the golden ratio, which never line up and need no chance;
    // an arrow at the end of the axis stands for one that lies beyond.
    frames: function (block) {
      var end = block.option.yAxis[0].max;
      return function (params, api) {
        if (params.context.done) { return; }
        params.context.done = true;
        var wide = api.size([1, 0])[0], r = wide < 26 ? 1.4 : 1.8, parts = [];
        block.frames.forEach(function (points, year) {
          (points || []).forEach(function (v, k) {
            var at = api.coord([year, Math.min(v, end)]);
            var x = at[0] + (((k + 1) * 0.6180339887498949) % 1 - 0.5) * Math.min(34, wide * 0.72);
            if (v > end) {
              parts.push({ type: 'polygon', shape: { points: [[x, at[1] - 7], [x + 3.5, at[1]], [x - 3.5, at[1]]] },
                style: { fill: 'var(--point)', stroke: 'var(--point)', lineWidth: 1 } });
            } else {
              parts.push({ type: 'circle', shape: { cx: x, cy: at[1], r: r }, style: { fill: 'none', stroke: 'var(--point)', lineWidth: 1 } });
            }
          });
        });
        return { type: 'group', children: parts };
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
    },
    // value: unused, low, high, 1 for every second class. A light band with its
    // name beside the drawing.
    'class': function (block) {
      return function (params, api) {
        var area = params.coordSys;
        var top = api.coord([0, api.value(2)])[1], foot = api.coord([0, api.value(1)])[1];
        var parts = [{ type: 'rect', shape: { x: area.x, y: top, width: area.width, height: foot - top }, style: { fill: api.value(3) ? 'var(--tint)' : 'none' } },
          line(area.x, foot, area.x + area.width, foot, { stroke: 'var(--rule)', lineWidth: 1, lineDash: [2, 3] })];
        if (beside(api, area) && foot - top >= 13) {
          parts.push(label(block.words.classes[params.dataIndex], area.x + area.width + 8, (top + foot) / 2, 'left', 'var(--muted)'));
        }
        return { type: 'group', children: parts };
      };
    },
    // value: unused, place along the years from the middle of the first. A
    // letter in a box on a line.
    event: function (block) {
      return function (params, api) {
        var area = params.coordSys, step = api.size([1, 0])[0];
        var x = area.x + (api.value(1) + 0.5) * step;
        return { type: 'group', children: [
          line(x, area.y - 9, x, area.y + area.height, { stroke: 'var(--ink)', lineWidth: 1, lineDash: [1, 3] }),
          { type: 'rect', shape: { x: x - 8, y: area.y - 25, width: 16, height: 16, r: 2 }, style: { fill: 'var(--paper)', stroke: 'var(--ink)', lineWidth: 1 } },
          label(block.words.events[params.dataIndex], x, area.y - 17, 'center', 'var(--ink)')] };
      };
    },
    // value: x, y of one end, x, y of the other. Long dashes.
    segment: function () {
      return function (params, api) {
        var a = api.coord([api.value(0), api.value(1)]), b = api.coord([api.value(2), api.value(3)]);
        return line(a[0], a[1], b[0], b[1], { stroke: 'var(--ink)', lineWidth: 1.9, lineDash: [11, 5] });
      };
    },
    // value: year, height of a bar from 0
    bar: function () {
      return function (params, api) {
        var at = api.coord([api.value(0), api.value(1)]), foot = api.coord([api.value(0), 0])[1];
        var width = Math.max(3, Math.min(22, api.size([1, 0])[0] * 0.5));
        return { type: 'rect', shape: { x: at[0] - width / 2, y: at[1], width: width, height: foot - at[1] }, style: { fill: 'var(--rain)' } };
      };
    },
    // value: unused, height, 1 for the line of no change
    level: function () {
      return function (params, api) {
        var area = params.coordSys, y = api.coord([0, api.value(1)])[1];
        var style = api.value(2) ? { stroke: 'var(--ink)', lineWidth: 1 } : { stroke: 'var(--ink)', lineWidth: 1, lineDash: [5, 3] };
        return line(area.x, y, area.x + area.width, y, style);
      };
    },
    // value: x, y, state, shape. All at once, so that their words keep clear of
    // each other; a word that finds no room is left to the table.
    dots: function (block) {
      return function (params, api) {
        if (params.context.done) { return; }
        params.context.done = true;
        var area = params.coordSys, parts = [], taken = [], at = [];
        for (var k = 0; k < params.dataInsideLength; k++) {
          at.push(api.coord([api.value(0, k), api.value(1, k)]));
          taken.push([at[k][0] - 5, at[k][1] - 5, at[k][0] + 5, at[k][1] + 5]);
          parts.push(symbol(at[k][0], at[k][1], 4.2, api.value(2, k), api.value(3, k)));
        }
        // The latest year chooses first.
        for (k = at.length - 1; k >= 0; k--) {
          var p = at[k], place = free([[7, -6], [-37, -6], [-15, -19], [-15, 7]].map(around(p)), taken, area);
          if (place) {
            taken.push(place);
            var year = label(block.words.dots[k], place[0], place[1] + 6, 'left', 'var(--muted)');
            year.style.stroke = 'var(--paper)';
            year.style.lineWidth = 3;
            parts.push(year);
          }
        }
        return { type: 'group', children: parts };
      };
    },
    // value: x, y. A line through all.
    curve: function () {
      return function (params, api) {
        if (params.context.done) { return; }
        params.context.done = true;
        var points = [];
        for (var k = 0; k < params.dataInsideLength; k++) { points.push(api.coord([api.value(0, k), api.value(1, k)])); }
        return { type: 'polyline', shape: { points: points }, style: { fill: 'none', stroke: 'var(--series)', lineWidth: 1.8 } };
      };
    },
    // value: x, y of a frame
    pair: function () {
      return function (params, api) {
        var at = api.coord([api.value(0), api.value(1)]);
        return { type: 'circle', shape: { cx: at[0], cy: at[1], r: 2.6 }, style: { fill: 'none', stroke: 'var(--series)', lineWidth: 1.1 } };
      };
    },
    // value: year, from, to, layer. All at once: the words stand beside the last
    // year, apart from each other.
    stack: function (block) {
      return function (params, api) {
        if (params.context.done) { return; }
        params.context.done = true;
        var area = params.coordSys, step = api.size([1, 0])[0], width = Math.max(3, Math.min(30, step * 0.72));
        var parts = [], words = [], place = {}, seen = {}, last = -1;
        for (var k = 0; k < params.dataInsideLength; k++) { last = Math.max(last, api.value(0, k)); }
        for (k = 0; k < params.dataInsideLength; k++) {
          var top = api.coord([api.value(0, k), api.value(2, k)]), foot = api.coord([api.value(0, k), api.value(1, k)])[1];
          var layer = api.value(3, k);
          parts = parts.concat(hatched(top[0] - width / 2, top[1], width, foot - top[1], layer));
          seen[layer] = true;
          if (api.value(0, k) === last) { place[layer] = { y: (top[1] + foot) / 2, from: (top[1] + foot) / 2, x: top[0] + width / 2 }; }
        }
        // A layer the last year lacks is named too, without a line to it.
        block.words.stack.forEach(function (text, k) {
          if (!seen[k]) { return; }
          var w = place[k] || { y: area.y + 6, from: null };
          w.text = text;
          w.layer = k;
          words.push(w);
        });
        if (beside(api, area)) { parts = parts.concat(spread(words, area)); }
        return { type: 'group', children: parts };
      };
    }
  };

  // Is there room for words to the right of the drawing?
  function beside(api, area) { return api.getWidth() - area.x - area.width > 40; }

  function label(text, x, y, align, color) {
    return { type: 'text', x: x, y: y, style: { text: text, textAlign: align, textVerticalAlign: 'middle', fill: color, font: '12px ' + family() } };
  }

  // A box for a year's name, off a point.
  function around(p) {
    return function (d) { return [p[0] + d[0], p[1] + d[1], p[0] + d[0] + 30, p[1] + d[1] + 12]; };
  }

  // The first of some boxes that lies inside an area and meets no other box.
  function free(boxes, taken, area) {
    return boxes.filter(function (b) {
      return b[0] >= area.x + 1 && b[2] <= area.x + area.width + 16 && b[1] >= area.y && b[3] <= area.y + area.height &&
        taken.every(function (t) { return b[2] <= t[0] || b[0] >= t[2] || b[3] <= t[1] || b[1] >= t[3]; });
    })[0];
  }

  // A box in the pattern of its layer; swatches in the page have the same.
  function hatched(x, y, w, h, layer) {
    var kind = layer % 6, ink = { stroke: 'var(--series)', lineWidth: 0.9 };
    var fill = kind === 4 ? 'var(--series)' : kind === 0 ? 'var(--range)' : 'var(--paper)';
    var parts = [{ type: 'rect', shape: { x: x, y: y, width: w, height: h }, style: { fill: fill, stroke: 'var(--series)', lineWidth: 0.9 } }];
    for (var d = 3; kind === 3 && d < h; d += 3) { parts.push(line(x, y + d, x + w, y + d, ink)); }
    for (d = 5; (kind === 2 || kind === 5) && d < w + h; d += 5) {
      // From the left or the upper edge to the lower or the right one.
      var a = [Math.max(0, d - h), Math.min(h, d)], b = [Math.min(w, d), Math.max(0, d - w)];
      parts.push(kind === 2 ? line(x + a[0], y + a[1], x + b[0], y + b[1], ink) : line(x + w - a[0], y + a[1], x + w - b[0], y + b[1], ink));
    }
    return parts;
  }

  // Words beside the last bar, at least a line apart, each with the pattern of its
  // layer and a thin line to it.
  function spread(words, area) {
    words.sort(function (a, b) { return a.y - b.y; });
    for (var k = 1; k < words.length; k++) { words[k].y = Math.max(words[k].y, words[k - 1].y + 15); }
    var over = words.length ? words[words.length - 1].y - (area.y + area.height) : 0;
    for (k = words.length - 1; k >= 0 && over > 0; k--) {
      words[k].y = Math.min(words[k].y, area.y + area.height - 15 * (words.length - 1 - k));
    }
    return words.reduce(function (parts, w) {
      var x = area.x + area.width + 14;
      if (w.from !== null) { parts.push(line(w.x + 1, w.from, x - 2, w.y, { stroke: 'var(--muted)', lineWidth: 0.8 })); }
      return parts.concat(hatched(x, w.y - 5, 14, 10, w.layer), [label(w.text, x + 19, w.y, 'left', 'var(--ink)')]);
    }, []);
  }

  function family() { return getComputedStyle(document.body).fontFamily; }

  // Names of shapes become functions; nothing else in the block can.
  function revive(series, block) {
    var name = series.renderItem;
    if (typeof name === 'string' && name.charAt(0) === '@' && Object.prototype.hasOwnProperty.call(SHAPES, name.slice(1))) {
      series.renderItem = SHAPES[name.slice(1)](block);
    }
    series.z = Object.prototype.hasOwnProperty.call(LAYER, series.name) ? LAYER[series.name] : 2;
    series.silent = true;
    series.clip = series.name === 'trend' || series.name === 'fit' || series.name === 'curve';
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
    if (option.grid.length > 1) { option.axisPointer = { link: [{ xAxisIndex: 'all' }] }; }
    option.xAxis.forEach(function (a) { a.nameTextStyle = { color: 'var(--muted)', fontSize: 12 }; });
    option.yAxis.forEach(function (a) { a.nameTextStyle = { color: 'var(--muted)', fontSize: 12, align: 'left', padding: [0, 0, 0, -46] }; });
    option.tooltip.className = 'chart-tip';
    option.tooltip.confine = true;
    option.tooltip.transitionDuration = 0;
    option.tooltip.formatter = tip(block);
    option.tooltip.axisPointer = { type: 'line', lineStyle: { color: 'var(--muted)', type: 'dotted' } };
    var chart = echarts.init(box, null, { renderer: 'svg' });
    var c = { box: box, chart: chart, beside: block.beside, grid: option.grid.map(function (g) { return { bottom: g.bottom, height: g.height, right: g.right }; }),
      names: option.xAxis.map(function (a) { return a.name || ''; }) };
    option.grid = margins(c, box.clientWidth, option.grid);
    chart.setOption(option);
    charts.push(c);
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

  // Words beside a drawing need room; without it the drawing takes all.
  function margins(c, width, grids) {
    return grids.map(function (g) {
      if (c.beside) { g.right = width >= ROOM ? c.beside : 10; }
      return g;
    });
  }

  // On paper the words above the charts say what the years are, and the room
  // is the charts'.
  function layout(c, size) {
    var grids = c.grid.map(function (g) { return { bottom: g.bottom, right: g.right, height: g.height || 'auto' }; });
    var lowest = grids.length - 1;
    var names = c.names.map(function (name) { return { name: size && name === 'growth year' ? '' : name }; });
    if (size && names[lowest].name === '') { grids[lowest].bottom = 24; }
    if (size && lowest > 0) {
      grids[0].bottom = 88;
      grids[1].height = 34;
    }
    return { grid: margins(c, size ? size.width : c.box.clientWidth, grids), xAxis: names };
  }

  function resize(size) {
    charts.forEach(function (c) {
      var to = size ? size(c.box) : null;
      c.chart.setOption(layout(c, to));
      c.chart.resize(to || { width: 'auto', height: 'auto' });
      c.chart.getZr().refreshImmediately(); // print does not wait for a frame
      fit(c.box);
    });
  }

  function paper(box) {
    var figure = box.closest('figure');
    var wide = figure.matches('.wide') && !figure.closest('.half-paper');
    var height = figure.matches('.with-rain') ? PAPER.rain : figure.matches('.plane') ? PAPER.plane : figure.matches('.enough') ? PAPER.enough : wide ? PAPER.high : PAPER.low;
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
    var stratum = box.querySelector('select');
    var shown = box.querySelector('#shown');
    var rows = Array.prototype.slice.call(table.tBodies[0].rows);
    function apply() {
      var words = input.value.toLowerCase().split(/\s+/).filter(Boolean);
      var of = stratum ? stratum.value : '';
      var n = 0;
      rows.forEach(function (row) {
        var text = row.textContent.toLowerCase();
        row.hidden = (of !== '' && row.getAttribute('data-stratum') !== of) || !words.every(function (w) { return text.indexOf(w) >= 0; });
        n += row.hidden ? 0 : 1;
      });
      shown.textContent = n + ' of ' + rows.length + (rows.length === 1 ? ' site' : ' sites');
    }
    box.hidden = false;
    input.addEventListener('input', apply);
    if (stratum) { stratum.addEventListener('change', apply); }
    apply();
  }

  // A link to a folded table opens it.
  function unfold(event) {
    var link = event.target.closest ? event.target.closest('a[href^="#"]') : null;
    var target = link && document.getElementById(link.getAttribute('href').slice(1));
    var fold = target && target.closest('details');
    if (fold) { fold.open = true; }
  }

  function start() {
    startCharts();
    document.addEventListener('click', unfold);
    var table = document.getElementById('sites');
    if (table) {
      sortable(table);
      filterable(table, document.querySelector('.filter'));
    }
  }

  start(); // deferred: the document has been read
}());
