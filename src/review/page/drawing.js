// Drawings of a design: SVG from the file made into nodes, the one place where markup is read.

const drawingPolicy = window.trustedTypes
  ? trustedTypes.createPolicy("drawing", { createHTML: (svg) => svg })
  : { createHTML: (svg) => svg };

/** Fresh nodes of the drawings of a kind ("plan", "sections", "loads"); none where nothing was drawn. */
function drawingNodes(design, kind) {
  const list = (drawingData[design] || {})[kind] || [];
  return list.map((svg) => {
    const parsed = new DOMParser().parseFromString(drawingPolicy.createHTML(svg), "text/html");
    return document.importNode(parsed.querySelector("svg"), true);
  });
}
