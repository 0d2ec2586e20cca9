// Measures the pages framed by this one and leaves what is wrong in its text.
addEventListener("load", () => {
  const faults = [];
  const corners = (text) => {
    const box = text.getBBox(), matrix = text.getScreenCTM();
    // Letters do not fill their line's height.
    const top = box.y + 0.18 * box.height, bottom = box.y + 0.88 * box.height;
    return [[box.x, top], [box.x + box.width, top], [box.x + box.width, bottom], [box.x, bottom]].map(([x, y]) => [
      matrix.a * x + matrix.c * y + matrix.e,
      matrix.b * x + matrix.d * y + matrix.f,
    ]);
  };
  // Two turned boxes are apart where some side of one has the other beyond it.
  const apart = (a, b) =>
    [a, b].some((shape) =>
      shape.some(([x, y], i) => {
        const [u, v] = shape[(i + 1) % shape.length], normal = [v - y, x - u];
        const along = (points) => points.map(([p, q]) => normal[0] * p + normal[1] * q);
        const [first, second] = [along(a), along(b)], slack = 0.5 * Math.hypot(...normal);
        return Math.max(...first) <= Math.min(...second) + slack || Math.max(...second) <= Math.min(...first) + slack;
      }),
    );
  const said = (label) => label.textContent.replace(/\n/g, "").trim();
  // Most are far apart, and quickly seen to be.
  const far = ([[ax, ay], , [bx, by]], [[cx, cy], , [dx, dy]]) =>
    Math.hypot(ax + bx - cx - dx, ay + by - cy - dy) > Math.hypot(ax - bx, ay - by) + Math.hypot(cx - dx, cy - dy);
  for (const frame of document.querySelectorAll("iframe")) {
    const page = frame.contentDocument, name = frame.title, wide = frame.clientWidth;
    const fault = (what) => faults.push(`${name} at ${wide}: ${what}`);
    const all = (selector) => [...page.querySelectorAll(selector)];
    if (all("h1").length !== 1) fault("it has not one title");
    if (page.documentElement.scrollWidth > wide) fault(`it is ${page.documentElement.scrollWidth} wide`);
    for (const element of all("main :not(svg *)")) {
      const box = element.getBoundingClientRect();
      const frame = element.parentElement.closest(".wide, .working");
      const scrolls = frame && getComputedStyle(frame).overflowX === "auto";
      if (box.right > wide + 1 && !scrolls) fault(`${element.tagName} ends at ${box.right}: ${element.textContent.slice(0, 40)}`);
    }
    let level = 0;
    for (const heading of all("h1, h2, h3, h4, h5, h6")) {
      const own = Number(heading.tagName[1]);
      if (own > level + 1) fault(`${heading.tagName} after H${level}`);
      if (!heading.textContent.trim()) fault("an empty heading");
      level = own;
    }
    const ids = all("[id]").map((element) => element.id);
    ids.filter((id, i) => ids.indexOf(id) !== i).forEach((id) => fault(`the id ${id} is given twice`));
    for (const link of all("a[href^='#']")) {
      if (!page.getElementById(decodeURIComponent(link.hash.slice(1)))) fault(`${link.hash} leads nowhere`);
    }
    for (const named of all("[aria-labelledby]")) {
      if (!page.getElementById(named.getAttribute("aria-labelledby"))) fault("a name that is nowhere");
    }
    for (const cell of all("th")) if (!cell.scope) fault("a heading of a table without scope");
    for (const figure of all("figure")) {
      const drawing = figure.querySelector("[role=img]"), caption = figure.querySelector("figcaption");
      if (!drawing?.getAttribute("aria-label")?.trim()) fault("a figure without a name");
      if (!caption?.textContent.trim()) fault("a figure without a caption");
    }
    for (const math of all("math")) {
      if (math.namespaceURI !== "http://www.w3.org/1998/Math/MathML" || !math.getBoundingClientRect().height) fault("a formula that is not shown");
    }
    all("svg").forEach((drawing, number) => {
      const labels = [...drawing.querySelectorAll("text, g.kp-label")].filter((label) => !label.parentElement.closest("g.kp-label"));
      const texts = labels.filter((text) => text.textContent.trim());
      const shapes = texts.map(corners), bounds = drawing.getBoundingClientRect();
      shapes.forEach((shape, i) => {
        if (shape.some(([x, y]) => x < bounds.left - 1 || x > bounds.right + 1 || y < bounds.top - 1 || y > bounds.bottom + 1)) fault(`drawing ${number + 1}: ${said(texts[i])} is cut off`);
        for (let k = i + 1; k < shapes.length; k += 1) {
          if (!far(shape, shapes[k]) && !apart(shape, shapes[k])) fault(`drawing ${number + 1}: ${said(texts[i])} lies on ${said(texts[k])}`);
        }
      });
    });
  }
  const shown = document.createElement("pre");
  shown.id = "measured";
  shown.textContent = encodeURIComponent(JSON.stringify({ pages: document.querySelectorAll("iframe").length, faults }));
  document.body.append(shown);
});
