/**
 * @typedef {{ left: number, top: number, right: number, bottom: number }} Edges
 * @typedef {{ kind: string, words: string, box: number[], colours: string[], look: string }} Mark
 */

/**
 * Lists what the page draws between these edges, in the order of the document: words, fields, panels, shapes, images.
 *
 * Whatever an overflowing ancestor cuts off is left out, as it is in the picture.
 *
 * @param {Edges} edges in CSS pixels, counted from the upper left corner of the window
 * @returns {{ letters: number, marks: Mark[] }}
 */
export function marksBetween(edges) {
  const NOT_DRAWN = new Set([
    "SCRIPT",
    "STYLE",
    "TEMPLATE",
    "NOSCRIPT",
    "defs",
    "symbol",
    "clipPath",
    "mask",
    "title",
    "desc",
  ]);
  const SHAPES = new Set(["path", "rect", "circle", "ellipse", "line", "polyline", "polygon", "use"]);
  const FIELDS = new Set(["INPUT", "SELECT", "TEXTAREA", "PROGRESS", "METER"]);
  const SMALLEST = 2; // pixels; text for screen readers alone is cut to one
  /** @type {Mark[]} */
  const marks = [];
  /** @type {Map<string, string>} */
  const known = new Map();
  const dot = Object.assign(document.createElement("canvas"), { width: 1, height: 1 }).getContext("2d", {
    willReadFrequently: true,
  });

  /** @param {string} css @returns {string} #rrggbb, with #aa where it is not opaque, empty where it is clear */
  function colour(css) {
    let hex = known.get(css);
    if (hex === undefined && dot !== null) {
      dot.clearRect(0, 0, 1, 1);
      dot.fillStyle = "rgba(0, 0, 0, 0)";
      dot.fillStyle = css;
      dot.fillRect(0, 0, 1, 1);
      const bytes = [...dot.getImageData(0, 0, 1, 1).data];
      const parts = bytes[3] === 255 ? bytes.slice(0, 3) : bytes;
      hex = bytes[3] === 0 ? "" : `#${parts.map((byte) => byte.toString(16).padStart(2, "0")).join("")}`;
      known.set(css, hex);
    }
    return hex ?? "";
  }

  /** @param {Edges} one @param {Edges} other @returns {Edges} what both have */
  function shared(one, other) {
    return {
      left: Math.max(one.left, other.left),
      top: Math.max(one.top, other.top),
      right: Math.min(one.right, other.right),
      bottom: Math.min(one.bottom, other.bottom),
    };
  }

  /**
   * @param {string} kind
   * @param {string} words
   * @param {Edges} whole
   * @param {Edges} clip
   * @param {string[]} colours
   * @param {string} look
   */
  function mark(kind, words, whole, clip, colours, look = "") {
    const part = shared(whole, clip);
    const [wide, high] = [part.right - part.left, part.bottom - part.top];
    const flat = kind === "shape" && (whole.right - whole.left < SMALLEST || whole.bottom - whole.top < SMALLEST);
    if (flat ? wide < 0 || high < 0 || wide + high < SMALLEST : wide < SMALLEST || high < SMALLEST) {
      return;
    }
    const box = [part.left - edges.left, part.top - edges.top, wide, high].map(Math.round);
    marks.push({ kind, words: words.replace(/\s+/g, " ").trim(), box, colours, look });
  }

  /** @param {CSSStyleDeclaration} style @returns {string} */
  function letters(style) {
    const line = style.textDecorationLine === "none" ? "" : ` ${style.textDecorationLine}`;
    return `${Math.round(Number.parseFloat(style.fontSize) * 10) / 10} ${style.fontWeight}${line}`;
  }

  /** @param {string} image @returns {string} what kind of image a style names, and its file */
  function image(image) {
    const file = /url\("?([^")]*)/.exec(image);
    return file === null
      ? image.replace(/\(.*/s, "")
      : file[1].startsWith("data:")
        ? "data"
        : file[1].replace(/.*\//, "");
  }

  /** @param {CSSStyleDeclaration} style @returns {{ colours: string[], look: string[] }} what a box is painted with */
  function paint(style) {
    const colours = [colour(style.backgroundColor)];
    const look = [];
    for (const side of ["top", "right", "bottom", "left"]) {
      const width = Number.parseFloat(style.getPropertyValue(`border-${side}-width`));
      const edge = colour(style.getPropertyValue(`border-${side}-color`));
      if (width > 0 && style.getPropertyValue(`border-${side}-style`) !== "none" && edge !== "") {
        if (!colours.includes(edge, 1)) colours.push(edge);
        look.push(`${side} ${Math.round(width)}`);
      }
    }
    if (
      style.outlineStyle !== "none" &&
      Number.parseFloat(style.outlineWidth) > 0 &&
      colour(style.outlineColor) !== ""
    ) {
      colours.push(colour(style.outlineColor));
      look.push("outline");
    }
    if (style.boxShadow !== "none") look.push("shadow");
    if (style.backgroundImage !== "none") look.push(image(style.backgroundImage));
    if (style.maskImage !== "none") look.push(`mask ${image(style.maskImage)}`);
    return { colours, look };
  }

  /** @param {Element} element @param {Edges} clip @param {CSSStyleDeclaration} style */
  function painted(element, clip, style) {
    const { colours, look } = paint(style);
    if (colours.some((each) => each !== "") || look.length > 0) {
      mark("panel", "", element.getBoundingClientRect(), clip, colours, look.join(", "));
    }
    for (const which of ["::before", "::after"]) {
      const made = getComputedStyle(element, which);
      if (made.content !== "none" && made.content !== "normal" && made.display !== "none") {
        const more = paint(made);
        const words = made.content.replace(/^"|"$/g, "");
        const tints = words === "" ? more.colours : [colour(made.color), ...more.colours];
        mark("made", words, element.getBoundingClientRect(), clip, tints, more.look.join(", "));
      }
    }
  }

  /** @param {Element} element @param {Edges} clip @param {CSSStyleDeclaration} style */
  function field(element, clip, style) {
    let [words, look] = ["", element.tagName.toLowerCase()];
    if (element instanceof HTMLSelectElement) {
      words = element.selectedOptions[0]?.text ?? "";
    } else if (element instanceof HTMLInputElement) {
      look = element.type + (element.checked ? " checked" : "");
      words = ["checkbox", "radio", "file"].includes(element.type) ? "" : element.value || element.placeholder;
    } else if (element instanceof HTMLTextAreaElement) {
      words = element.value || element.placeholder;
    } else if (element instanceof HTMLProgressElement || element instanceof HTMLMeterElement) {
      words = String(element.value);
    }
    if (element.matches(":disabled")) look += " disabled";
    mark("field", words, element.getBoundingClientRect(), clip, [colour(style.color)], `${look} ${letters(style)}`);
  }

  /** @param {Element} element @param {Edges} clip @param {CSSStyleDeclaration} style */
  function shape(element, clip, style) {
    const commands = (element.getAttribute("d") ?? element.getAttribute("href") ?? "").replace(/[^A-Za-z#]/g, "");
    const dashes = style.strokeDasharray === "none" ? "" : " dashes";
    const tints = [style.fill, style.stroke].map((css) => (css.startsWith("url") ? "" : colour(css)));
    if (tints.some((each) => each !== "") || element.tagName === "use") {
      mark("shape", "", element.getBoundingClientRect(), clip, tints, `${element.tagName} ${commands}${dashes}`);
    }
  }

  /** @param {Text} text @param {Edges} clip @param {CSSStyleDeclaration} style */
  function written(text, clip, style) {
    if (text.data.trim() !== "") {
      const range = document.createRange();
      range.selectNodeContents(text);
      const ink = colour(text.parentElement instanceof SVGElement ? style.fill : style.color);
      mark("words", text.data, range.getBoundingClientRect(), clip, [ink], letters(style));
    }
  }

  /** @param {Element} element @param {Edges} given */
  function visit(element, given) {
    const drawn = /** @type {Element & { checkVisibility: (what: object) => boolean }} */ (element);
    if (NOT_DRAWN.has(element.tagName) || !drawn.checkVisibility({ opacityProperty: true })) {
      return;
    }
    const style = getComputedStyle(element);
    const seen = style.visibility === "visible";
    let clip = style.position === "fixed" || element.matches(":modal") ? edges : given;
    if (seen && SHAPES.has(element.tagName)) {
      shape(element, clip, style);
    } else if (seen) {
      painted(element, clip, style);
    }
    if (seen && FIELDS.has(element.tagName)) {
      field(element, clip, style);
    } else if (seen && element instanceof HTMLImageElement) {
      mark("image", element.alt, element.getBoundingClientRect(), clip, []);
    }
    if (FIELDS.has(element.tagName)) {
      return;
    }
    if (style.overflowX !== "visible" || style.overflowY !== "visible") {
      clip = shared(clip, element.getBoundingClientRect());
    }
    for (const child of element.childNodes) {
      if (child instanceof Element) visit(child, clip);
      else if (seen && child instanceof Text) written(child, clip, style);
    }
  }

  for (const animation of document.getAnimations()) {
    if (animation.effect?.getComputedTiming().endTime !== Number.POSITIVE_INFINITY) animation.finish();
  }
  const ruler = document.createElement("canvas").getContext("2d");
  if (ruler !== null) ruler.font = `100px ${getComputedStyle(document.body).fontFamily}`;
  const sentence = "The quick brown fox weighs 0123456789 lb";
  visit(document.body, edges);
  return { letters: Math.round(ruler?.measureText(sentence).width ?? 0), marks };
}
