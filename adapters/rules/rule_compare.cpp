// Contract: see rule_compare.hpp.  Rules by their parts: compare_parts.cpp.
#include "adapters/rules/rule_compare.hpp"

#include <algorithm>
#include <map>
#include <set>
#include <string_view>
#include <utility>

#include "adapters/rules/compare_parts.hpp"
#include "adapters/rules/rule_prose.hpp"
#include "adapters/rules/rule_reads.hpp"
#include "adapters/rules/rule_text.hpp"
#include "engine/base/one_line.hpp"
#include "engine/quantity/calendar.hpp"
#include "grammar/format.hpp"

namespace meniscus::adapters {

namespace {
using engine::Program;
using engine::Setting;
using engine::Table;
using engine::Value;

using Lines = std::vector<std::string>;

/// Name and words, in the order of the rules.
using Words = std::vector<std::pair<std::string, std::string>>;

// ------------------------------------------------------------------ settings and definitions

Lines setting_changes(const Setting& before, const Setting& after) {
  Lines lines;
  note_change(lines, "value", setting_text(before), setting_text(after));
  note_change(lines, "permitted range", range_text(before), range_text(after));
  note_change(lines, "title", before.title, after.title);
  return lines;
}

std::string setting_summary(const Setting& setting) {
  std::string text = setting_text(setting);
  const std::string range = range_text(setting);
  return range.empty() ? text : text + ", permitted " + range;
}

Words definitions_of(const Program& program) {
  constexpr std::string_view kDefine = "define ";
  Words words;
  for (const auto& source : program.sources) {
    if (source == nullptr) continue;
    const std::string text = engine::without_comments(grammar::format({}, source->text()).text);
    for (const Paragraph& paragraph : paragraphs(text)) {
      for (const std::string& line : paragraph.lines) {
        const std::size_t equals = line.find(" = ");
        if (!line.starts_with(kDefine) || equals == std::string::npos) continue;
        words.emplace_back(line.substr(kDefine.size(), equals - kDefine.size()),
                           RuleProse()(line.substr(equals + 3)));
      }
    }
  }
  return words;
}

// ------------------------------------------------------------------ tables

std::string cell_text(const Value& cell) {
  if (cell.state == engine::State::None) return "empty";
  return cell.text.empty() ? "any" : std::string(cell.text);
}

/// The columns of one table that the other has too, as pairs of their numbers.
using Shared = std::vector<std::pair<std::size_t, std::size_t>>;

Shared shared_columns(const Table& before, const Table& after) {
  Shared shared;
  for (std::size_t i = 0; i < after.columns.size(); ++i) {
    if (const auto at = before.column(after.columns[i].name)) shared.emplace_back(*at, i);
  }
  return shared;
}

/// The cells of the first `count` shared columns; `side` chooses the number of the pair.
template <class Side>
std::string key_of(const Table& table, std::size_t row, const Shared& shared, std::size_t count,
                   Side side) {
  std::string key;
  for (std::size_t i = 0; i < count; ++i) {
    if (i > 0) key += ", ";
    key += cell_text(table.cell(row, side(shared[i])));
  }
  return key;
}

template <class Side>
std::map<std::string, std::size_t> rows_by_key(const Table& table, const Shared& shared,
                                               std::size_t count, Side side) {
  std::map<std::string, std::size_t> rows;
  for (std::size_t row = 0; row < table.rows(); ++row)
    rows.emplace(key_of(table, row, shared, count, side), row);
  return rows;
}

class TableComparison {
 public:
  TableComparison(const Table& before, const Table& after)
      : before_(before), after_(after), shared_(shared_columns(before, after)) {}

  Lines run() {
    columns();
    std::size_t count = 1;  // of the first columns that tell all rows of both tables apart
    while (count < shared_.size() && !tells_apart(count))
      ++count;
    if (!shared_.empty()) rows(count);
    return std::move(lines_);
  }

 private:
  static std::size_t old_of(const Shared::value_type& pair) { return pair.first; }
  static std::size_t new_of(const Shared::value_type& pair) { return pair.second; }

  void columns() {
    for (const engine::Column& column : after_.columns) {
      if (!before_.column(column.name)) lines_.push_back("new column " + column.name);
    }
    for (const engine::Column& column : before_.columns) {
      if (!after_.column(column.name)) lines_.push_back("column " + column.name + " removed");
    }
  }

  [[nodiscard]] bool tells_apart(std::size_t count) const {
    return rows_by_key(before_, shared_, count, old_of).size() == before_.rows() &&
           rows_by_key(after_, shared_, count, new_of).size() == after_.rows();
  }

  void rows(std::size_t count) {
    const auto old_rows = rows_by_key(before_, shared_, count, old_of);
    const auto new_rows = rows_by_key(after_, shared_, count, new_of);
    for (std::size_t row = 0; row < after_.rows(); ++row) {
      const std::string key = key_of(after_, row, shared_, count, new_of);
      const auto was = old_rows.find(key);
      if (was == old_rows.end()) {
        lines_.push_back("new row " + key);
      } else {
        cells(key, was->second, row);
      }
    }
    for (std::size_t row = 0; row < before_.rows(); ++row) {
      const std::string key = key_of(before_, row, shared_, count, old_of);
      if (new_rows.count(key) == 0) lines_.push_back("row " + key + " removed");
    }
  }

  void cells(const std::string& key, std::size_t old_row, std::size_t new_row) {
    for (const auto& [old_column, new_column] : shared_) {
      const std::string was = cell_text(before_.cell(old_row, old_column));
      const std::string now = cell_text(after_.cell(new_row, new_column));
      const std::string& name = after_.columns[new_column].name;
      if (was == now) continue;
      std::string line = "row " + key;
      line.append(": ").append(name).append(" was ").append(was).append(", now ").append(now);
      lines_.push_back(std::move(line));
    }
  }

  const Table& before_;  // both outlive the comparison
  const Table& after_;
  Shared shared_;
  Lines lines_;
};

Lines table_changes(const Table& before, const Table& after) {
  return TableComparison(before, after).run();
}

std::string table_summary(const Table& table) {
  return std::to_string(table.rows()) + (table.rows() == 1 ? " row" : " rows");
}

// ------------------------------------------------------------------ examples and local changes

std::string order_text(const engine::ExampleOrder& order) {
  std::string text;
  for (const engine::ExampleField& field : order.fields) {
    if (!text.empty()) text += ", ";
    text.append(engine::info(field.field).name).append(" = ").append(field.text);
  }
  return text;
}

std::string example_text(const engine::Example& example) {
  std::string text = "order " + order_text(example.order);
  for (const engine::ExampleOrder& earlier : example.earlier)
    text += "; earlier " + order_text(earlier);
  for (const engine::Expectation& hope : example.expectations)
    text += "; expect " + engine::expect_text(hope);
  return text;
}

/// An example is told by its title and the rule that it is about, as often as there are such.
Words examples_of(const Program& program) {
  Words words;
  std::map<std::string, std::size_t> seen;
  for (const engine::Example& example : program.examples) {
    std::string name = '"' + example.title + '"';
    const auto& hopes = example.expectations;
    if (!hopes.empty() && !hopes.front().rule.empty()) name += " of " + hopes.front().rule;
    const std::size_t number = ++seen[name];
    if (number > 1) name += " (" + std::to_string(number) + ")";
    words.emplace_back(std::move(name), example_text(example));
  }
  return words;
}

Words local_changes_of(const Program& program) {
  Words words;
  for (const engine::LocalChange& change : program.changes) {
    if (change.kind == engine::ChangeKind::Trial) continue;
    std::string text = "because \"" + change.because + "\" by \"" + change.by + '"';
    if (change.until) text += " until " + engine::format_day(*change.until);
    words.emplace_back(change.what, text + (change.over ? " (over)" : ""));
  }
  return words;
}

/// Rules that are not in force: those of one name are told by their dates.
Words aside_of(const Program& program) {
  Words words;
  for (const engine::Rule& rule : program.aside) {
    const RuleText text = split_rule(rule.text);
    std::string name = rule.name;
    if (!text.dates.empty()) name += " " + text.dates;
    words.emplace_back(std::move(name), engine::on_one_line(grammar::format({}, rule.text).text));
  }
  return words;
}

// ------------------------------------------------------------------ all together

class Comparison {
 public:
  Comparison(const Program& before, const Program& after) : before_(before), after_(after) {}

  std::vector<Change> run() {
    const auto by_name = [](const auto& each) { return each.name; };
    compare("setting ", before_.settings, after_.settings, by_name, setting_changes,
            setting_summary);
    words("definition ", definitions_of(before_), definitions_of(after_));
    compare("table ", before_.tables, after_.tables, by_name, table_changes, table_summary);
    compare("rule ", before_.rules, after_.rules, by_name, rule_changes,
            [](const engine::Rule& rule) { return rule.title; });
    words("rule that is not in force: ", aside_of(before_), aside_of(after_));
    words("example ", examples_of(before_), examples_of(after_));
    words("local change ", local_changes_of(before_), local_changes_of(after_));
    return std::move(changes_);
  }

 private:
  /// What is in one of the two only, and what `differences` finds in what is in both.
  template <class T, class Name, class Differences, class Summary>
  void compare(std::string_view kind, const std::vector<T>& before, const std::vector<T>& after,
               Name name, Differences differences, Summary summary) {
    const auto find = [&](const std::vector<T>& all, const T& wanted) {
      return std::find_if(all.begin(), all.end(),
                          [&](const T& each) { return name(each) == name(wanted); });
    };
    const auto add = [&](const T& each, Lines lines) {
      if (!lines.empty()) changes_.push_back({std::string(kind) + name(each), std::move(lines)});
    };
    for (const T& now : after) {
      const auto was = find(before, now);
      add(now, was == before.end() ? Lines{"new: " + summary(now)} : differences(*was, now));
    }
    for (const T& was : before) {
      if (find(after, was) == after.end()) add(was, {"removed (was: " + summary(was) + ")"});
    }
  }

  void words(std::string_view kind, const Words& before, const Words& after) {
    using Each = Words::value_type;
    const auto differences = [](const Each& was, const Each& now) {
      Lines lines;
      note_change(lines, "words", was.second, now.second);
      return lines;
    };
    compare(
        kind, before, after, [](const Each& each) { return each.first; }, differences,
        [](const Each& each) { return each.second; });
  }

  const Program& before_;  // both outlive the comparison
  const Program& after_;
  std::vector<Change> changes_;
};
}  // namespace

std::vector<Change> compare_rule_sets(const Program& before, const Program& after) {
  return Comparison(before, after).run();
}

}  // namespace meniscus::adapters
