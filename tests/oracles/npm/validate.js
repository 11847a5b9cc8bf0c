// node validate.js FILE...: one line of JSON per file, what the npm package `fhir` finds in it.
const fs = require("fs");
const { Fhir } = require("fhir");

const fhir = new Fhir();
for (const file of process.argv.slice(2)) {
  const { messages } = fhir.validate(JSON.parse(fs.readFileSync(file, "utf8")), { errorOnUnexpected: true });
  console.log(JSON.stringify(messages || []));
}
