// Charts: figures of one canvas with a name, and the same numbers as a table.
//
// A chart has one size on screen and paper (680 px is the width between the margins of A4), so that printing draws
// nothing anew; a narrow screen scales it down.

const CHART_WIDTH = 680;
let toDraw = [];

// Draws what stands in the page by now.
function drawWaiting() {
  const later = [];
  for (const chart of toDraw) {
    if (chart.canvas.isConnected) draw(chart); else later.push(chart);
  }
  toDraw = later;
}

function draw({ canvas, config }) {
  Chart.defaults.font.family = getComputedStyle(document.body).fontFamily;
  Chart.defaults.font.size = 13;
  Chart.defaults.color = INK;
  const made = config();
  made.options = { responsive: false, animation: false, devicePixelRatio: 2, ...made.options };
  made.plugins = [{ id: "paper", beforeDraw: paper }, ...(made.plugins || [])];
  new Chart(canvas, made);
}

function paper(chart) {
  chart.ctx.fillStyle = "#ffffff";
  chart.ctx.fillRect(0, 0, chart.width, chart.height);
}

// `name` says what is drawn, `numbers` is its table; `config` is called when the chart is drawn.
function figure(name, height, config, numbersTable) {
  const canvas = make("canvas", { role: "img", width: CHART_WIDTH, height, "aria-label":
    "Chart: " + visible(name) + " The table beside it has the numbers." });
  toDraw.push({ canvas, config });
  return make("figure", {}, make("figcaption", {}, name), make("div", { class: "drawn" },
    make("div", { class: "canvas" }, canvas), numbersTable));
}

function axis(title, more = {}) {
  return { title: { display: Boolean(title), text: title }, grid: { color: RULE_LINES }, beginAtZero: true, ...more };
}

function percentAxis(title, most) {
  return axis(title, { max: most, ticks: { callback: (value) => Math.round(value * 1000) / 10 + " %" } });
}

function countAxis(title, more = {}) {
  return axis(title, { ticks: { precision: 0, callback: (value) => count(Math.abs(value)) }, ...more });
}

function monthAxis(more = {}) {
  return { grid: { display: false }, ticks: { maxRotation: 60, autoSkipPadding: 0, font: { size: 12 } }, ...more };
}

function legend(display = true) {
  return { display, position: "bottom", labels: { boxWidth: 26, boxHeight: 14, padding: 14 } };
}

// Shown at a bar or point under the pointer: the words that `say` makes of the data set and the place in it.
function tooltip(say) {
  return { callbacks: { label: (item) => " " + say(item.dataset, item.dataIndex) } };
}

// Writes at the end of each lying bar what it counts, so that no axis has to be read.
function barLabels(say) {
  return { id: "labels", afterDatasetsDraw(chart) {
    const pen = chart.ctx;
    pen.save();
    pen.font = "13px " + Chart.defaults.font.family;
    pen.fillStyle = INK;
    pen.textBaseline = "middle";
    chart.data.datasets.forEach((set, index) => chart.getDatasetMeta(index).data.forEach((bar, place) => {
      pen.fillText(say(set, place), bar.x + 6, bar.y);
    }));
    pen.restore();
  } };
}

// Which line is which, with its dashes and points (the library's own legend draws no dashes).
function lineKeys() {
  return { id: "keys", afterDraw(chart) {
    const pen = chart.ctx;
    pen.save();
    pen.font = "13px " + Chart.defaults.font.family;
    pen.textBaseline = "middle";
    let x = chart.chartArea.left;
    for (const set of chart.data.datasets) {
      const y = chart.height - 12;
      pen.strokeStyle = set.borderColor;
      pen.lineWidth = set.borderWidth;
      pen.setLineDash(set.borderDash);
      stroke(pen, [[x, y, x + 44, y]]);
      pen.setLineDash([]);
      pen.fillStyle = set.pointBackgroundColor;
      Chart.helpers.drawPoint(pen, { pointStyle: set.pointStyle, radius: 5, borderWidth: 2, rotation: 0 }, x + 22, y);
      pen.fillStyle = INK;
      pen.fillText(set.label, x + 52, y);
      x += 52 + pen.measureText(set.label).width + 28;
    }
    pen.restore();
  } };
}

// Writes the signals of a month over it: a drop or a stop as large as a jump.
function pointLabels(signals, months) {
  return { id: "signals", afterDatasetsDraw(chart) {
    const pen = chart.ctx;
    pen.save();
    pen.font = "bold 13px " + Chart.defaults.font.family;
    pen.fillStyle = INK;
    pen.textAlign = "center";
    for (const signal of signals) {
      const x = chart.scales.x.getPixelForValue(months.indexOf(signal.month));
      pen.setLineDash([2, 3]);
      pen.strokeStyle = INK;
      stroke(pen, [[x, chart.chartArea.top, x, chart.chartArea.bottom]]);
      const half = pen.measureText(KINDS[signal.kind].mark).width / 2;
      pen.fillText(KINDS[signal.kind].mark, Math.min(Math.max(x, half), chart.width - half), chart.chartArea.top - 6);
    }
    pen.restore();
  } };
}
