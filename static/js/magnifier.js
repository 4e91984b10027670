"use strict";
// The desk for marking points on a picture: taps, drags, the magnifier, arrow keys and buttons, zoom.
// What the points are is the page's own: it hands over `host` and hears what was done.
//
//   const desk = window.markingDesk(root, {
//     points(),        // [{u, v} or null]; places are px of the full, upright picture
//     active(),        // which of them is being marked
//     choose(i),       // a mark was taken hold of
//     tapped(seen),    // a tap in the picture
//     moved(seen),     // the active mark is being dragged, settled() follows
//     nudged(du, dv),  // by keys, buttons, or a tap in the magnifier
//     settled(),       // a drag has ended
//     line(),          // {list: [{u, v}], closed} to draw in the magnifier
//     isRound(i),      // whether the mark is a ring, else a small square
//     drawn(),         // draw everything anew
//   });
//
// u = x_css · w / w_css − ½.
window.markingDesk = (root, host) => {
  const width = Number(root.dataset.width);
  const height = Number(root.dataset.height);
  const part = (name) => root.querySelector(`[data-${name}]`);
  const picture = part("picture");
  const image = picture.querySelector("img");
  const glass = part("loupe");
  const svg = "http://www.w3.org/2000/svg";
  let hover = null;

  const isReady = () => image.complete && image.naturalWidth > 0 && !("making" in image.dataset);
  const middle = () => ({ u: width / 2, v: height / 2 });
  const spanPx = () => Math.max(48, width / 28); // of the full picture, across the glass

  function within(seen) {
    const hold = (value, most) => Math.min(Math.max(value, -0.5), most - 0.5);
    return { ...seen, u: hold(seen.u, width), v: hold(seen.v, height) };
  }

  // What one sees ----------------------------------------------------------------------------------

  function handles() {
    if (!picture.clientWidth) return;
    part("handles").replaceChildren(...host.points().map(handle).filter(Boolean));
  }

  function handle(one, i) {
    if (!one) return null;
    const mark = document.createElementNS(svg, "g");
    const reach = (width / picture.clientWidth) * 11;
    mark.setAttribute("class", `handle${i === host.active() ? " active" : ""}`);
    mark.dataset.handle = i;
    const ring = document.createElementNS(svg, host.isRound(i) ? "circle" : "rect");
    const size = host.isRound(i) ? { cx: one.u, cy: one.v, r: reach } : { x: one.u - reach * 0.7, y: one.v - reach * 0.7, width: reach * 1.4, height: reach * 1.4 };
    for (const [key, value] of Object.entries(size)) ring.setAttribute(key, value);
    const dot = document.createElementNS(svg, "path");
    dot.setAttribute("d", `M${one.u - reach} ${one.v}h${reach * 2}M${one.u} ${one.v - reach}v${reach * 2}`);
    mark.append(ring, dot);
    return mark;
  }

  function magnify() {
    const sharp = window.devicePixelRatio || 1;
    const across = glass.clientWidth;
    if (!across || !isReady()) return;
    if (glass.width !== Math.round(across * sharp)) glass.width = glass.height = Math.round(across * sharp);
    const pen = glass.getContext("2d");
    const scale = glass.width / spanPx();
    const at = hover || host.points()[host.active()] || middle();
    const k = [image.naturalWidth / width, image.naturalHeight / height];
    pen.setTransform(1, 0, 0, 1, 0, 0);
    pen.fillStyle = "#808080";
    pen.fillRect(0, 0, glass.width, glass.height);
    pen.imageSmoothingEnabled = scale * Math.min(...k) < 3;
    // The picture's pixel (0, 0) has its middle there: its edge lies half a pixel before.
    const [left, top] = [at.u - spanPx() / 2, at.v - spanPx() / 2];
    pen.drawImage(image, (left + 0.5) * k[0], (top + 0.5) * k[1], spanPx() * k[0], spanPx() * k[1], 0, 0, glass.width, glass.height);
    const seen = (one) => [(one.u - left) * scale, (one.v - top) * scale];
    const { list, closed } = host.line();
    line(pen, list.map(seen), closed, sharp);
    cross(pen, seen(at), sharp);
  }

  function line(pen, list, closed, sharp) {
    if (list.length < 2) return;
    pen.beginPath();
    list.forEach(([x, y], i) => (i ? pen.lineTo(x, y) : pen.moveTo(x, y)));
    if (closed) pen.closePath();
    pen.lineWidth = sharp;
    pen.strokeStyle = "#0a4383";
    pen.stroke();
  }

  function cross(pen, [x, y], sharp) {
    for (const [colour, wide] of [["#ffffff", 3.5], ["#8f2a00", 1.5]]) {
      pen.beginPath();
      for (const [dx, dy] of [[1, 0], [-1, 0], [0, 1], [0, -1]]) {
        pen.moveTo(x + dx * 5 * sharp, y + dy * 5 * sharp);
        pen.lineTo(x + dx * glass.width, y + dy * glass.width);
      }
      pen.lineWidth = wide * sharp;
      pen.strokeStyle = colour;
      pen.stroke();
    }
    pen.fillStyle = "#8f2a00";
    pen.fillRect(x - sharp, y - sharp, 2 * sharp, 2 * sharp);
  }

  // Taps, drags and keys ---------------------------------------------------------------------------

  function seenAt(event) {
    const box = image.getBoundingClientRect();
    return {
      u: ((event.clientX - box.left) * width) / box.width - 0.5,
      v: ((event.clientY - box.top) * height) / box.height - 0.5,
    };
  }

  let dragged = null;
  let swallow = false; // the click that ends a drag
  picture.addEventListener("pointerdown", (event) => {
    const grip = event.target.closest("[data-handle]");
    if (!grip || event.button) return;
    dragged = { i: Number(grip.dataset.handle), moved: false };
    picture.setPointerCapture(event.pointerId);
    event.preventDefault();
  });
  picture.addEventListener("pointermove", (event) => {
    if (dragged) {
      if (!dragged.moved) host.choose(dragged.i);
      dragged.moved = true;
      host.moved(within(seenAt(event)));
    } else if (event.pointerType === "mouse") {
      hover = seenAt(event);
      magnify();
    }
  });
  picture.addEventListener("pointerup", () => {
    if (dragged?.moved) {
      host.settled();
      swallow = true;
    }
    dragged = null;
  });
  picture.addEventListener("pointercancel", () => {
    dragged = null;
  });
  picture.addEventListener("pointerleave", () => {
    hover = null;
    magnify();
  });
  picture.addEventListener("click", (event) => {
    if (swallow) swallow = false;
    else if (isReady()) {
      hover = null;
      host.tapped(within(seenAt(event)));
    }
  });
  glass.addEventListener("click", (event) => {
    const box = glass.getBoundingClientRect();
    const scale = spanPx() / box.width;
    host.nudged((event.clientX - box.left - box.width / 2) * scale, (event.clientY - box.top - box.height / 2) * scale);
  });

  const ways = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
  function keys(event) {
    const way = ways[event.key];
    if (!way || event.altKey || event.ctrlKey || event.metaKey) return;
    event.preventDefault();
    hover = null;
    const step = event.shiftKey ? 10 : 1;
    host.nudged(way[0] * step, way[1] * step);
  }

  for (const one of root.querySelectorAll("[data-nudge]")) {
    one.addEventListener("click", () => {
      hover = null;
      host.nudged(...one.dataset.nudge.split(",").map(Number));
    });
  }
  for (const one of root.querySelectorAll("[data-zoom]")) {
    one.addEventListener("click", () => {
      const frame = part("frame");
      const share = (frame.scrollLeft + frame.clientWidth / 2) / picture.clientWidth;
      picture.classList.remove("zoom-2", "zoom-3");
      if (one.dataset.zoom !== "1") picture.classList.add(`zoom-${one.dataset.zoom}`);
      frame.scrollLeft = share * picture.clientWidth - frame.clientWidth / 2;
      host.drawn();
    });
  }

  picture.style.aspectRatio = `${width} / ${height}`;
  for (const desk of root.querySelectorAll("[data-desk]")) desk.hidden = false;
  new ResizeObserver(() => {
    if (picture.clientWidth) host.drawn(); // a page that was replaced has none
  }).observe(picture);
  return {
    width,
    height,
    image,
    part,
    within,
    isReady,
    handles,
    magnify,
    keys,
    lookAway() {
      hover = null;
    },
    // A tap means the active mark where it is near it, the next one that is not set, else the nearest.
    meant(seen, points, active, isWanted) {
      const far = Math.hypot(width, height) / 10;
      const away = (one) => (one ? Math.hypot(one.u - seen.u, one.v - seen.v) : Infinity);
      const unset = points.findIndex((one, i) => !one && isWanted(i));
      if (unset < 0) return points.reduce((best, one, i) => (away(one) < away(points[best]) ? i : best), 0);
      return points[active] && away(points[active]) < far ? active : unset;
    },
    moved(from, du, dv) {
      const at = from || middle();
      return within({ ...at, u: at.u + du, v: at.v + dv });
    },
  };
};
