// What the plots use of D3.
export { bin, extent, quantileSorted } from "d3-array";
export { axisBottom, axisLeft } from "d3-axis";
export { brush, brushY } from "d3-brush";
export { drag } from "d3-drag";
export { scaleLinear, scaleLog } from "d3-scale";
export { pointer, select } from "d3-selection";
export { zoom, zoomIdentity } from "d3-zoom";
