// Contract: see text_writer.hpp.
#include "adapters/report/text_writer.hpp"

#include <algorithm>
#include <utility>

#include "adapters/report/answered.hpp"
#include "adapters/report/local_changes.hpp"
#include "adapters/report/wrap.hpp"
#include "engine/order/field.hpp"
#include "engine/verdict/lack.hpp"

namespace meniscus::adapters {

namespace {
using engine::Finding;
using engine::NotAssessed;
using engine::OrderBlock;
using engine::OrderSource;
using engine::Outcome;
using engine::Place;
using engine::Slip;
using engine::Verdict;

constexpr std::size_t kDetailIndent = 9;  // findings, under the group's number
constexpr std::size_t kSubIndent = 13;    // ask, rule, places
constexpr std::size_t kLabelIndent = 19;  // after "ask   "
constexpr std::size_t kWordColumn = 12;   // "incomplete" and two blanks
constexpr std::size_t kRulesNamed = 3;    // in a `not assessed` line
constexpr std::size_t kMissingNamed = 3;  // on the line of a clear order

/// From the gravest on, as the summary counts them.
constexpr std::array<Outcome, 8> kSummaryOrder = {
    Outcome::Hold, Outcome::Clarify, Outcome::Incomplete, Outcome::Caution,
    Outcome::Note, Outcome::Clear,   Outcome::Recorded,   Outcome::Outside};

void pad(std::string& out, std::size_t used, std::size_t width) {
  if (used < width) out.append(width - used, ' ');
}

void append_count(std::string& out, std::size_t count, std::string_view thing) {
  append_number(out, count);
  out += ' ';
  out += thing;
  if (count != 1) out += 's';
}

void append_position(std::string& out, const Place& place) {
  append_plain(out, place.file);
  if (place.line == 0) return;
  out += ':';
  append_number(out, place.line);
  out += ':';
  append_number(out, place.column);
}

/// More than its own line.
bool has_details(const Verdict& verdict) {
  return !verdict.findings.empty() || !verdict.muted.empty() || !verdict.answered.empty() ||
         verdict.outcome == Outcome::Incomplete;
}

template <class Names>
void append_rules(std::string& out, const Names& rules) {
  out += " (";
  std::size_t shown = 0;
  for (const std::string_view rule : rules) {
    if (shown == kRulesNamed) {
      out += " ...";
      break;
    }
    if (shown++ > 0) out += ", ";
    append_plain(out, rule);
  }
  out += ')';
}
}  // namespace

TextWriter::TextWriter(WriteBytes write, const Emphasis& emphasis)
    : output_(std::move(write)), emphasis_(emphasis) {}

void TextWriter::begin(const Run& run) {
  several_inputs_ = run.inputs > 1;
  rules_ = run.rules;
  changes_ = run.changes;
  on_trial_.assign(changes_.size(), 0);
}

void TextWriter::begin_input(std::string_view name) {
  if (!several_inputs_) return;
  std::string& out = output_.text();
  if (orders_ > 0) out += '\n';
  out += emphasis_.faint;
  append_plain(out, name);
  out += emphasis_.off;
  out += '\n';
  after_details_ = false;
}

void TextWriter::write(const Verdict& verdict, const OrderBlock& block, const OrderSource& source) {
  ++orders_;
  ++counts_[static_cast<std::size_t>(verdict.outcome)];
  history_ = verdict.history;
  const engine::LocalChange* counted = nullptr;  // a rule may have found two things
  for (const engine::Hidden& hidden : verdict.trial) {
    if (hidden.change == counted) continue;
    counted = hidden.change;
    ++on_trial_[static_cast<std::size_t>(counted - changes_.data())];
  }
  const bool details = has_details(verdict);
  if (details || after_details_) {
    if (orders_ > 1) output_.text() += '\n';
  }
  after_details_ = details;
  head(verdict, block, source);
  const std::vector<Finding>& findings = verdict.findings;
  for (std::size_t first = 0; first < findings.size();) {
    std::size_t end = first;
    while (end < findings.size() && findings[end].group == findings[first].group) {
      finding(findings[end], end == first);
      ++end;
    }
    places(verdict, first, end, block, source);
    first = end;
  }
  slips(verdict);
  answered(verdict);
  muted(verdict);
  if (details) not_assessed(verdict);
  output_.piece_done();
}

void TextWriter::head(const Verdict& verdict, const OrderBlock& block, const OrderSource& source) {
  std::string& out = output_.text();
  const bool strong = verdict.outcome == Outcome::Hold || verdict.outcome == Outcome::Clarify ||
                      verdict.outcome == Outcome::Incomplete;
  if (strong) out += emphasis_.strong;
  out += mark(verdict.outcome);
  out += ' ';
  const std::string_view word = engine::name(verdict.outcome);
  out += word;
  pad(out, word.size(), kWordColumn);
  if (verdict.order.empty()) {
    out += "no order number, ";
    append_position(out, source.record_place(block, verdict.lane));
  } else {
    append_plain(out, verdict.order);
  }
  if (!verdict.patient.empty()) {
    out += "  patient ";
    append_plain(out, verdict.patient);
  }
  if (strong) out += emphasis_.off;
  if (!verdict.reason.empty()) {
    out += "  ";
    append_plain(out, verdict.reason);
  }
  if (!has_details(verdict) && !verdict.not_assessed.empty()) {
    out += "  (not assessed for want of ";
    std::size_t shown = 0;
    for (const NotAssessed& entry : verdict.not_assessed) {
      if (shown == kMissingNamed) break;
      if (shown++ > 0) out += ", ";
      append_plain(out, entry.missing);
    }
    if (verdict.not_assessed.size() > shown) {
      out += " and ";
      append_number(out, verdict.not_assessed.size() - shown);
      out += " more";
    }
    out += ')';
  }
  out += '\n';
}

void TextWriter::finding(const Finding& finding, bool first_of_group) {
  std::string& out = output_.text();
  const std::size_t line_start = out.size();
  if (first_of_group) {
    out += "   ";
    if (finding.group < 10) out += ' ';
    append_number(out, finding.group);
  }
  pad(out, out.size() - line_start, kDetailIndent - 2);
  const Outcome outcome = engine::outcome_of(finding.grade);
  out += mark(outcome);
  out += ' ';
  out += emphasis_.strong;
  const std::string_view word = engine::name(finding.grade);
  out += word;
  out += emphasis_.off;
  pad(out, word.size(), 9);
  const std::size_t column = kDetailIndent - 2 + 7 + std::max<std::size_t>(word.size(), 9);
  append_wrapped(out, finding.say, column, column);
  if (!finding.ask.empty()) {
    out.append(kSubIndent, ' ');
    out += "ask   ";
    append_wrapped(out, finding.ask, kLabelIndent, kLabelIndent);
  }
  if (!finding.earlier.why.empty()) {
    out.append(kSubIndent, ' ');
    out += "open  ";
    append_wrapped(out, finding.earlier.why + ".", kLabelIndent, kLabelIndent);
  }
  out.append(kSubIndent, ' ');
  out += "rule  ";
  append_plain(out, finding.rule);
  if (!finding.cite.empty()) {
    out += '\n';
    out.append(kSubIndent, ' ');
    out += "cite  ";
    append_wrapped(out, finding.cite, kLabelIndent, kLabelIndent);
    return;
  }
  out += '\n';
}

void TextWriter::places(const Verdict& verdict, std::size_t first, std::size_t end,
                        const OrderBlock& block, const OrderSource& source) {
  engine::FieldSet shown;
  bool any = false;
  for (std::size_t i = first; i < end; ++i) {
    for (const engine::BlamedField& field : verdict.findings[i].fields) {
      any = true;
      if (shown.test(engine::index(field.field))) continue;
      shown.set(engine::index(field.field));
      place(source.place(block, verdict.lane, field.field, field.origin),
            engine::info(field.field).name, field.from_text);
    }
  }
  if (!any) place(source.record_place(block, verdict.lane), {}, false);
}

void TextWriter::place(const Place& place, std::string_view field, bool from_text) {
  std::string& out = output_.text();
  out.append(kSubIndent, ' ');
  out += emphasis_.faint;
  append_position(out, place);
  out += emphasis_.off;
  if (!field.empty()) {
    out += "  ";
    out += field;
  }
  if (!place.at.empty() && place.at != field) {
    out += "  at ";
    append_plain(out, place.at);
  }
  if (from_text) out += "  (read out of the text)";
  out += '\n';
  excerpt(place);
}

void TextWriter::excerpt(const Place& place) {
  if (place.excerpt.empty()) return;
  std::string& out = output_.text();
  out.append(kSubIndent, ' ');
  out += "| ";
  append_plain(out, place.excerpt);
  out += '\n';
  out.append(kSubIndent, ' ');
  out += "| ";
  out.append(place.caret, ' ');
  out += emphasis_.strong;
  out.append(std::max<std::uint32_t>(place.width, 1), '^');
  out += emphasis_.off;
  out += '\n';
}

void TextWriter::slips(const Verdict& verdict) {
  std::string& out = output_.text();
  for (const Slip& slip : verdict.slips) {
    out.append(kDetailIndent - 2, ' ');
    out += emphasis_.strong;
    out += "slip?";
    out += emphasis_.off;
    pad(out, 5, kSubIndent - kDetailIndent + 2);
    text_.assign("Is ").append(engine::info(slip.field).name);
    text_.append(" meant to be ").append(slip.to).append(", not ").append(slip.from).append("? ");
    const std::size_t sentence = text_.size();
    text_.append(slip.why).append(".");
    if (text_[sentence] >= 'a' && text_[sentence] <= 'z') text_[sentence] -= 'a' - 'A';
    const char* separator = " That would settle ";
    for (const std::string_view rule : slip.clears) {
      text_.append(separator).append(rule);
      separator = ", ";
    }
    text_.append(".");
    append_wrapped(out, text_, kSubIndent, kSubIndent);
  }
}

void TextWriter::answered(const Verdict& verdict) {
  std::string& out = output_.text();
  for (const engine::Answered& item : verdict.answered) {
    out.append(kDetailIndent - 2, ' ');
    out += "answered  ";
    text_.assign("clarify of ").append(item.rule).append(": ");
    text_.append(question_text(item.say, item.ask)).append(" ");
    text_.append(answer_sentence(*item.answer));
    append_wrapped(out, text_, kDetailIndent + 8, kSubIndent);
  }
}

void TextWriter::muted(const Verdict& verdict) {
  std::string& out = output_.text();
  for (const engine::Hidden& hidden : verdict.muted) {
    out.append(kDetailIndent - 2, ' ');
    out += "muted  ";
    text_.assign(engine::name(hidden.grade)).append(" of ").append(hidden.rule).append(": ");
    text_.append(hidden.say).append(" Muted: ").append(change_reason(*hidden.change)).append(".");
    append_wrapped(out, text_, kDetailIndent + 5, kSubIndent);
  }
}

void TextWriter::not_assessed(const Verdict& verdict) {
  std::string& out = output_.text();
  for (const NotAssessed& entry : verdict.not_assessed) {
    out.append(kDetailIndent - 2, ' ');
    out += entry.grave ? mark(Outcome::Incomplete) : std::string_view("[  ? ]");
    out += ' ';
    append_plain(out, entry.missing);
    out.append(engine::lack_word(entry.missing)).append(": ");
    append_count(out, entry.rules.size(), "rule");
    out += " not assessed";
    append_rules(out, entry.rules);
    out += '\n';
  }
}

void TextWriter::never_assessed(const std::vector<NotAssessed>& missing) {
  for (const NotAssessed& entry : missing) {
    never_[entry.missing].insert(entry.rules.begin(), entry.rules.end());
  }
}

void TextWriter::never_carried() {
  std::string& out = output_.text();
  if (never_.empty()) return;
  out += "Never in this feed; the rules that need it were not assessed, or only in part:\n";
  // Fields that the same rules need stand on one line.
  std::map<std::set<std::string_view>, std::string> by_rules;
  for (const auto& [missing, rules] : never_) {
    std::string& fields = by_rules[rules];
    if (!fields.empty()) fields += ", ";
    fields += missing;
  }
  for (const auto& [rules, fields] : by_rules) {
    std::string line = fields + ": ";
    append_count(line, rules.size(), "rule");
    append_rules(line, rules);
    out += "  ";
    append_wrapped(out, line, 2, 4);
  }
}

void TextWriter::trials() {
  bool first = true;
  for (std::size_t i = 0; i < changes_.size(); ++i) {
    const engine::LocalChange& change = changes_[i];
    if (change.kind != engine::ChangeKind::Trial || change.over) continue;
    std::string& out = output_.text();
    if (first) out += "On trial; what these rules found is not shown and counts for nothing:\n";
    first = false;
    text_.assign(change.target).append(" spoke on ");
    append_number(text_, on_trial_[i]);
    text_.append(" of ");
    append_count(text_, orders_, "order");
    text_.append(": ").append(change_reason(change));
    out += "  ";
    append_wrapped(out, text_, 2, 4);
  }
}

void TextWriter::summary() {
  std::string& out = output_.text();
  if (orders_ > 0) out += '\n';
  append_count(out, orders_, "order");
  const char* separator = ": ";
  for (const Outcome outcome : kSummaryOrder) {
    const std::size_t count = counts_[static_cast<std::size_t>(outcome)];
    if (count == 0) continue;
    out += separator;
    separator = ", ";
    append_number(out, count);
    out += ' ';
    out += engine::name(outcome);
  }
  out += '\n';
}

engine::Status TextWriter::finish() {
  summary();
  never_carried();
  std::string& out = output_.text();
  append_changes(out, changes_);
  trials();
  if (history_ == engine::HistoryScope::Input && orders_ > 0) {
    out += "History: only what stands earlier in the same input.\n";
  }
  out += "Rules: ";
  append_plain(out, rules_);
  out += '\n';
  append_wrapped(out, kCaution, 0, 0);
  return output_.finish();
}

}  // namespace meniscus::adapters
