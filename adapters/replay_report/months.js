// Outcomes by month.  Bars stack what is not clear, as shares, so that months with few and many orders compare.

const DRAWN = ["hold", "clarify", "incomplete", "caution", "note"];

function monthsSection(summary) {
  if (!summary.sides.some((side) => side.months?.length)) return undefined;
  const most = Math.max(0.01, ...summary.sides.flatMap((side) => (side.months || []).map(notClear)));
  return section("months", "Month by month", summary.sides.map((side) =>
    monthsFigure(side, Math.ceil(most * 20 + 0.2) / 20, summary.sides.length > 1)));
}

function notClear(row) {
  return row.judged ? DRAWN.reduce((sum, name) => sum + (row.outcomes?.[name] ?? 0), 0) / row.judged : 0;
}

function monthsFigure(side, most, two) {
  const rows = side.months || [];
  const of = two ? ", " + sideName(side) : "";
  const columns = [monthColumn(),
    numbers("Judged", (row) => row.judged)].concat(OUTCOMES.map((name) => numbers(upper(name), (row) => row.outcomes?.[name] ?? 0)),
    [numbers("Stopped", (row) => row.stopped), shares("Share", "judged", (row) => row.stopped, (row) => row.judged)]);
  const config = () => ({ type: "bar", data: { labels: rows.map((row) => month(row.month, true)),
    datasets: DRAWN.map((name) => ({ label: name, ...bars(name),
      data: rows.map((row) => fractionOf(row.outcomes?.[name] ?? 0, row.judged) ?? 0) })) },
  options: { plugins: { legend: legend(), tooltip: tooltip((set, place) => set.label + ": " +
    countOf(rows[place].outcomes?.[set.label] ?? 0, rows[place].judged)) },
  scales: { x: monthAxis({ stacked: true }), y: { stacked: true, ...percentAxis("of the orders judged in the month", most) } } } });
  return figure("Outcomes by month" + of + ", as shares of the orders judged in the month; the gravest at the bottom. What is " +
    "missing to 100 % is clear.", 330, config,
  table("Outcomes by month" + of + ", orders", columns, rows, { id: "months-table-" + side.name }));
}
