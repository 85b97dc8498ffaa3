// What reads a decision back.
export { parse } from "smol-toml";
