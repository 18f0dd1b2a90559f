// What bars and lines are filled with.  Each is told from the others without colour: by its hatching, its darkness, its
// dashes or its points.

const INK = "#1f2b36";
const RULE_LINES = "#c9d1d6";

// Draws one tile of hatching; lines run over its edges, so that tiles join.
const HATCHINGS = {
  solid() {},
  rising(pen) { stroke(pen, [[-2, 10, 10, -2], [-6, 6, 6, -6], [2, 14, 14, 2]]); },
  falling(pen) { stroke(pen, [[-2, -2, 10, 10], [-6, 2, 6, 14], [2, -6, 14, 6]]); },
  flat(pen) { stroke(pen, [[0, 2, 8, 2], [0, 6, 8, 6]]); },
  grid(pen) { stroke(pen, [[0, 4, 8, 4], [4, 0, 4, 8]]); },
  dots(pen) {
    for (const [x, y] of [[2, 2], [6, 6]]) {
      pen.beginPath();
      pen.arc(x, y, 1, 0, 2 * Math.PI);
      pen.fill();
    }
  },
};

function stroke(pen, lines) {
  pen.beginPath();
  for (const [x, y, toX, toY] of lines) {
    pen.moveTo(x, y);
    pen.lineTo(toX, toY);
  }
  pen.stroke();
}

function hatching(kind, ground, ink) {
  const scale = 2;
  const tile = document.createElement("canvas");
  tile.width = tile.height = 8 * scale;
  const pen = tile.getContext("2d");
  pen.scale(scale, scale);
  pen.fillStyle = ground;
  pen.fillRect(0, 0, 8, 8);
  pen.strokeStyle = pen.fillStyle = ink;
  pen.lineWidth = 1.5;
  HATCHINGS[kind](pen);
  const pattern = pen.createPattern(tile, "repeat");
  pattern.setTransform(new DOMMatrix().scale(1 / scale));
  return pattern;
}

const STYLES = {
  note: ["dots", "#f4f6f7", "#60717d"],
  caution: ["rising", "#e6edf0", "#4c7080"],
  incomplete: ["grid", "#f1eef5", "#6d5c86"],
  clarify: ["flat", "#a9bfca", "#33576a"],
  hold: ["solid", "#22323f", "#22323f"],
  before: ["rising", "#ffffff", "#8b6f4e"],
  after: ["solid", "#33576a", "#33576a"],
  newly_stopped: ["solid", "#22323f", "#22323f"],
  no_longer_stopped: ["rising", "#ffffff", "#8b6f4e"],
  graver: ["flat", "#a9bfca", "#33576a"],
  milder: ["dots", "#f4f6f7", "#60717d"],
  other_reason: ["grid", "#f1eef5", "#6d5c86"],
};

function bars(style) {
  const [kind, ground, ink] = STYLES[style];
  return { backgroundColor: hatching(kind, ground, ink), borderColor: ink, borderWidth: 1 };
}

// Of two lines the first is dashed with hollow points, the second whole with full ones.
function line(before) {
  const colour = before ? "#8b6f4e" : "#22323f";
  return { borderColor: colour, borderWidth: 2, borderDash: before ? [6, 4] : [], pointStyle: before ? "rect" : "circle",
    pointRadius: 4, pointBorderColor: colour, pointBackgroundColor: before ? "#ffffff" : colour, tension: 0, spanGaps: false };
}
