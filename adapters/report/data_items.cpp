// Contract: see data_items.hpp.
#include "adapters/report/data_items.hpp"

#include <utility>

#include "adapters/report/answered.hpp"
#include "adapters/report/local_changes.hpp"
#include "adapters/report/output.hpp"
#include "engine/order/field.hpp"
#include "engine/verdict/lack.hpp"

namespace meniscus::adapters {

namespace {
using engine::Finding;
using engine::Grade;
using engine::NotAssessed;
using engine::Outcome;
using engine::Verdict;

/// The items of one verdict, as they are made.
class Items {
 public:
  Items(const Verdict& verdict, const engine::OrderBlock& block, const engine::OrderSource& source,
        std::string_view file)
      : verdict_(verdict), block_(block), source_(source), file_(file) {}

  std::vector<DataItem> make() {
    for (const Finding& finding : verdict_.findings)
      add_finding(finding);
    if (verdict_.outcome == Outcome::Outside)
      add(kOutsideOrder, Weight::NotApplicable, "not checked: " + verdict_.reason);
    if (verdict_.outcome == Outcome::Incomplete) add_incomplete();
    for (const NotAssessed& entry : verdict_.not_assessed)
      add(kNotAssessed, Weight::Open, missing_sentence(entry));
    for (const engine::Hidden& item : verdict_.muted) {
      DataItem& added = add(item.rule, weight_of(item.grade), item.say);
      added.grade = engine::name(item.grade);
      added.suppressed = item.change == nullptr ? "muted" : change_sentence(*item.change);
    }
    for (const engine::Answered& item : verdict_.answered) {
      DataItem& added = add(item.rule, Weight::Error, question_text(item.say, item.ask));
      added.grade = engine::name(Grade::Clarify);
      added.suppressed = answer_sentence(*item.answer);
    }
    return std::move(items_);
  }

 private:
  DataItem& add(std::string_view rule, Weight weight, std::string message) {
    DataItem& item = items_.emplace_back();
    item.rule = rule;
    item.grade = "note";
    item.weight = weight;
    item.message = std::move(message);
    item.record = source_.record_place(block_, verdict_.lane);
    return item;
  }

  void add_finding(const Finding& finding) {
    std::string message = question_text(finding.say, finding.ask);
    if (!finding.earlier.why.empty()) message += " (" + finding.earlier.why + ")";
    DataItem& item = add(finding.rule, weight_of(finding.grade), std::move(message));
    item.grade = engine::name(finding.grade);
    // What stands in the order comes first: a rule may blame the text and the coded field, and
    // where there is no text, nobody is to be led to the start of the order.
    for (const bool stands : {true, false}) {
      for (const engine::BlamedField& field : finding.fields) {
        if (field.value.empty() == stands) continue;
        item.fields.push_back({engine::info(field.field).name,
                               source_.place(block_, verdict_.lane, field.field, field.origin)});
      }
    }
    FindingKey key = key_of(finding, verdict_.order, file_);
    if (key.is_sound()) item.key = std::move(key);
  }

  void add_incomplete() {
    std::string missing;
    for (const NotAssessed& entry : verdict_.not_assessed) {
      if (entry.grave) missing.append(missing.empty() ? "" : ", ").append(entry.missing);
    }
    DataItem& item = add(kIncomplete, Weight::Error,
                         "the check could not be completed; missing: " + std::move(missing));
    item.grade = engine::name(Outcome::Incomplete);
  }

  const Verdict& verdict_;
  const engine::OrderBlock& block_;
  const engine::OrderSource& source_;
  std::string_view file_;
  std::vector<DataItem> items_;
};
}  // namespace

std::vector<DataItem> items_of(const Verdict& verdict, const engine::OrderBlock& block,
                               const engine::OrderSource& source, std::string_view file) {
  return Items(verdict, block, source, file).make();
}

Weight weight_of(Grade grade) {
  switch (grade) {
    case Grade::Hold:
    case Grade::Clarify:
      return Weight::Error;
    case Grade::Caution:
      return Weight::Warning;
    case Grade::Note:
      break;
  }
  return Weight::Note;
}

namespace {
std::string missing_sentence(const NotAssessed& entry, std::string_view how) {
  const std::size_t count = entry.rules.size();
  std::string text = entry.missing;
  text.append(engine::lack_word(entry.missing)).append(": ").append(std::to_string(count));
  text.append(count == 1 ? " rule " : " rules ").append(how).append(" (");
  const char* separator = "";
  for (const std::string_view rule : entry.rules) {
    text.append(separator).append(rule);
    separator = ", ";
  }
  return text + ")";
}
}  // namespace

std::string missing_sentence(const NotAssessed& entry) {
  return missing_sentence(entry, "not assessed");
}

std::string never_carried_sentence(const NotAssessed& entry) {
  return missing_sentence(entry, "not assessed, or only in part");
}

void append_item_line(std::string& out, std::string_view file, const DataItem& item) {
  const engine::Place& place = item.place();
  append_plain(out, file);
  out += ':';
  if (place.line != 0) {
    append_number(out, place.line);
    out += ':';
    append_number(out, place.column);
    out += ':';
  }
  out += ' ';
  out += item.grade;
  out += ": ";
  append_plain(out, item.message);
  out += " [";
  out += item.rule;
  out += "]\n";
}

}  // namespace meniscus::adapters
