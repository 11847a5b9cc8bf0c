// node fhirpath.js FILE: what NLM's fhirpath.js says of expressions, in the R4 model.
//
// FILE is JSON: {expressions: [text], resources: [{data, nodes: [{at, base, resource, ask: [index of expression]}]}]}.
// `at` and `resource` are keys that lead from the data to the object and to the resource it belongs to; `base` is the
// type of the object, or null for a resource. The answer is one line: for each resource, for each node, for each
// expression "t", "f", "e" for an empty answer, or the message of an error.
const fs = require("fs");
const fhirpath = require("fhirpath");
const r4 = require("fhirpath/fhir-context/r4");

const { expressions, resources } = JSON.parse(fs.readFileSync(process.argv[2], "utf8"));
// Nothing is fetched: a reference that names a type leads to a resource of that type, any other to nothing.
const LITERAL = /(?:^|\/)([A-Z][A-Za-z]+)\/[A-Za-z0-9.-]+(?:\/_history\/[A-Za-z0-9.-]+)?$/;
function resolve(nodes) {
  const found = nodes.map((node) => [node.constructor, LITERAL.exec(node.data.reference || "")]).filter((pair) => pair[1]);
  return found.map(([maker, literal]) => maker.makeResNode(this, { resourceType: literal[1] }, null, null, null, null));
}
// As the engine's own, but some published patterns are refused by JavaScript in its Unicode mode.
function matches(texts, pattern) {
  if (texts.length === 0) return [];
  try {
    return [new RegExp(pattern, "su").test(texts[0])];
  } catch {
    return [new RegExp(pattern, "s").test(texts[0])];
  }
}
const options = {
  traceFn: () => {},
  userInvocationTable: {
    resolve: { fn: resolve, arity: { 0: [] }, internalStructures: true },
    matches: { fn: matches, arity: { 1: ["String"] } },
  },
};
const compiled = new Map();

function ask(base, number, data, variables) {
  const key = `${base} ${number}`;
  try {
    if (!compiled.has(key)) {
      const expression = expressions[number];
      compiled.set(key, fhirpath.compile(base === null ? expression : { base, expression }, r4, options));
    }
    const answer = compiled.get(key)(data, variables);
    if (answer.length === 0) return "e";
    if (answer.length > 1 || typeof answer[0] !== "boolean") return `no truth value: ${JSON.stringify(answer)}`;
    return answer[0] ? "t" : "f";
  } catch (error) {
    return String(error.message || error).slice(0, 100);
  }
}

const follow = (data, keys) => keys.reduce((inner, key) => inner[key], data);
const answers = resources.map(({ data, nodes }) =>
  nodes.map(({ at, base, resource, ask: asked }) => {
    const variables = () => ({ resource: follow(data, resource), rootResource: data });
    return asked.map((number) => ask(base, number, follow(data, at), variables()));
  }),
);
process.stdout.write(JSON.stringify(answers));
