// Holds what Meniscus says about FHIR against two general-purpose libraries.
//
// fhir      (npm, ISC) validates every OperationOutcome: structure, cardinality, required codes.
// fhirpath  (npm, HL7's FHIRPath with its R4 model) finds what every issue.expression names in the input, and
//           there what the verdict says was written there.
//
// usage: node check.js JOB.json     {"outcomes": [{"lines": [...], "input": resource or null}],
//                                    "fields": [{"at": ..., "value": ..., "input": resource}]}
// Exit status 1: it names what is wrong, one a line.
"use strict";
const fs = require("fs");
const { Fhir } = require("fhir");
const fhirpath = require("fhirpath");
const r4 = require("fhirpath/fhir-context/r4");

const validator = new Fhir();
const complaints = [];
let checked = 0;
let found = 0;

function errorsOf(resource) {
  const result = validator.validate(resource, { errorOnUnexpected: true });
  return result.messages.filter((m) => m.severity === "error" || m.severity === "fatal").map((m) => `${m.location}: ${m.message}`);
}

function values(resource, expression) {
  return fhirpath.evaluate(resource, expression, null, r4);
}

// The check itself: what is wrong must be refused.
for (const wrong of [
  { resourceType: "OperationOutcome", issue: [] },
  { resourceType: "OperationOutcome", issue: [{ severity: "bad", code: "value" }] },
  { resourceType: "OperationOutcome", issue: [{ severity: "error", code: "nonsense" }] },
  { resourceType: "OperationOutcome", issue: [{ severity: "error", code: "value", said: "x" }] },
]) {
  if (errorsOf(wrong).length === 0) complaints.push(`the validator takes what is wrong: ${JSON.stringify(wrong)}`);
}

function checkOutcome(line, input) {
  const outcome = JSON.parse(line);
  checked += 1;
  for (const error of errorsOf(outcome)) complaints.push(`${error} in ${line}`);
  if (outcome.resourceType !== "OperationOutcome") complaints.push(`no OperationOutcome: ${line}`);
  for (const issue of outcome.issue) {
    for (const expression of input === null ? [] : issue.expression || []) {
      if (values(input, expression).length > 0) found += 1;
      else complaints.push(`${expression} names nothing in the input`);
    }
  }
}

function checkField({ at, value, input }) {
  const there = values(input, at);
  const text = there.length === 1 && typeof there[0] !== "object" ? String(there[0]) : null;
  if (text === null) return false;
  if (!value.includes(text) && !text.includes(value)) complaints.push(`at ${at} stands ${text}, the verdict says ${value}`);
  return true;
}

const job = JSON.parse(fs.readFileSync(process.argv[2], "utf8"));
for (const { lines, input } of job.outcomes) lines.forEach((line) => checkOutcome(line, input));
const compared = job.fields.filter(checkField).length;
complaints.forEach((complaint) => console.log(complaint));
console.log(`${checked} OperationOutcomes valid by fhir, ${found} expressions found by fhirpath, ${compared} values compared`);
// Nothing checked is nothing shown.
process.exit(complaints.length > 0 || checked === 0 || found === 0 || compared === 0 ? 1 : 0);
