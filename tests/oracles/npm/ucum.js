// node ucum.js < codes.json: a JSON list of true or false, whether @lhncbc/ucum-lhc (which fhirpath brings along) takes each code as it stands.
const utils = require("@lhncbc/ucum-lhc").UcumLhcUtils.getInstance();
const codes = JSON.parse(require("fs").readFileSync(0, "utf8"));
console.log(JSON.stringify(codes.map((code) => {
  const found = utils.validateUnitString(code);
  return found.status === "valid" && found.ucumCode === code;
})));
