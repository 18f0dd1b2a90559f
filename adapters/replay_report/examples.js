// Orders as examples: each opens and says what was found in it, where it stands, and with which values.

function examplesOf(title, examples) {
  if (!examples?.length) return undefined;
  return make("div", { class: "examples" }, make("h4", {}, title), examples.map(example));
}

function example(one) {
  const compared = one.before !== undefined || one.after !== undefined;
  const outcomes = compared ? [outcome(one.before), " before, ", outcome(one.after), " after"] : outcome(one.outcome);
  return folded([make("span", { class: "order" }, "Order ", outside(one.order)), one.patient && [", ", outside(one.patient)],
    one.day ? ", " + day(one.day) : "", ": ", outcomes], () => [
    paragraph("It stands in ", one.file ? outside(one.file) : "a file that is not named",
      isNumber(one.line) ? ", line " + one.line : "", "."),
    compared ? [found("Found before", one.findings_before), found("Found after", one.findings_after)] :
      found("Found", one.findings)], { class: "example" });
}

function found(title, findings) {
  const all = findings || [];
  return all.length ? [paragraph(make("strong", {}, title + ":")), make("ul", {}, all.map(finding))] :
    paragraph(make("strong", {}, title + ": "), "nothing.");
}

function finding(one) {
  const fields = (one.fields || []).map((field) => make("li", {}, make("code", {}, outside(field.name)), " is ",
    outside(field.value)));
  return make("li", {}, outcome(one.grade), " from ", linkedRules([one.rule]),
    one.say && paragraph(outside(one.say)),
    one.ask && paragraph(make("em", {}, "Question: "), outside(one.ask)),
    fields.length ? make("ul", { class: "fields" }, fields) : undefined);
}
