// Contract: see case_table.hpp.
#include "adapters/rules/case_table.hpp"

#include <algorithm>
#include <memory>
#include <optional>
#include <utility>

#include "adapters/csv/csv_table.hpp"
#include "adapters/rules/example_orders.hpp"
#include "adapters/support/near_name.hpp"
#include "engine/base/ascii.hpp"
#include "grammar/diagnostics.hpp"

namespace meniscus::adapters {

namespace {
using engine::Diagnostic;
using engine::Example;
using engine::Expectation;
using engine::FieldId;
using engine::Severity;
using engine::Span;
using engine::ascii::trimmed;

using grammar::Code;

std::string in_ticks(std::string_view text) { return "`" + std::string(text) + "`"; }

struct Column {
  enum class Kind : std::uint8_t { Field, Expect, Title, AsOf, Note };
  Kind kind = Kind::Note;
  FieldId field{};
};

class Reader {
 public:
  Reader(const std::string& name, const std::string& text, const engine::Program& program)
      : program_(program),
        orders_(program),
        source_(std::make_shared<const engine::SourceText>(name, text)) {}

  CaseTable read() {
    const CsvTable table = read_csv_table(source_->text());
    for (const TableProblem& problem : table.problems)
      report(Code::C0101, problem.span, problem.reason);
    if (!table.head.cells.empty() && read_head(table.head)) {
      for (const TableRow& row : table.rows)
        read_row(row);
      say_unused();
    }
    std::stable_sort(
        out_.diagnostics.begin(), out_.diagnostics.end(),
        [](const Diagnostic& a, const Diagnostic& b) { return a.span.begin < b.span.begin; });
    return std::move(out_);
  }

 private:
  struct Earlier {
    std::string patient;
    engine::ExampleOrder order;
    Span span;
    bool used = false;
  };

  void report(Code code, Span span, std::string message, std::string help = {}) {
    out_.diagnostics.push_back(
        grammar::diagnose(code, source_, span, std::move(message), std::move(help)));
  }

  bool read_head(const TableRow& head) {
    const std::size_t before = out_.diagnostics.size();
    bool expects = false;
    for (const TableCell& cell : head.cells) {
      columns_.push_back(column(cell, head));
      expects = expects || columns_.back().kind == Column::Kind::Expect;
    }
    if (!expects) {
      report(Code::C0102, head.span, "no column is called `expect`",
             "add one that says what each row should give, as in `hold from dose-range`");
    }
    return out_.diagnostics.size() == before;
  }

  Column column(const TableCell& cell, const TableRow& head) {
    const std::string& name = cell.text;
    const auto same = [&](const TableCell& other) {
      return &other < &cell && other.text == name && !name.empty();
    };
    if (std::any_of(head.cells.begin(), head.cells.end(), same)) {
      report(Code::C0102, cell.span, "the column " + in_ticks(name) + " stands twice");
    }
    if (name == "expect") return {Column::Kind::Expect, {}};
    if (name == "title") return {Column::Kind::Title, {}};
    if (name == "as-of") return {Column::Kind::AsOf, {}};
    if (const auto field = engine::field_named(name)) return {Column::Kind::Field, *field};
    if (name.empty() || name.starts_with("x-") || name.starts_with('_')) return {};
    NearName near(name);
    for (const std::string_view word : {"expect", "title", "as-of"})
      near.offer(word);
    for (const engine::FieldInfo& field : engine::fields())
      near.offer(field.name);
    report(Code::C0102, cell.span, in_ticks(name) + " is no field of an order",
           near.best().empty() ? "a column of your own begins with `x-`; it is not read"
                               : "is " + in_ticks(near.best()) + " meant?");
    return {};
  }

  void read_row(const TableRow& row) {
    Example example;
    example.in_table = true;
    example.file = source_->name();
    example.line = source_->locate(row.span.begin).line;
    const std::size_t before = out_.diagnostics.size();
    std::string patient;
    for (std::size_t i = 0; i < row.cells.size(); ++i) {
      const TableCell& cell = row.cells[i];
      if (cell.text.empty()) continue;
      switch (columns_[i].kind) {
        case Column::Kind::Field:
          check_value(columns_[i].field, cell);
          if (columns_[i].field == FieldId::PatientId) patient = cell.text;
          example.order.fields.push_back({columns_[i].field, cell.text});
          break;
        case Column::Kind::Expect:
          read_expectations(cell, example);
          break;
        case Column::Kind::Title:
          example.title = cell.text;
          break;
        case Column::Kind::AsOf:
          read_day(cell, example);
          break;
        case Column::Kind::Note:
          break;
      }
    }
    if (expects(row)) {
      find_earlier(example, patient);
      if (out_.diagnostics.size() == before) out_.cases.push_back(std::move(example));
      return;
    }
    if (patient.empty()) {
      report(Code::C0105, row.span, "the row expects nothing and names no patient.id",
             "say in `expect` what it should give; an earlier order needs the patient.id of a row "
             "below it");
      return;
    }
    earlier_.push_back({patient, std::move(example.order), row.span, false});
  }

  [[nodiscard]] bool expects(const TableRow& row) const {
    for (std::size_t i = 0; i < row.cells.size(); ++i)
      if (columns_[i].kind == Column::Kind::Expect) return !row.cells[i].text.empty();
    return false;
  }

  void find_earlier(Example& example, const std::string& patient) {
    if (example.title.empty()) example.title = "row " + std::to_string(example.line);
    for (Earlier& earlier : earlier_) {
      if (patient.empty() || earlier.patient != patient) continue;
      earlier.used = true;
      example.earlier.push_back(earlier.order);
    }
  }

  void check_value(FieldId field, const TableCell& cell) {
    scratch_.clear();
    orders_.set(scratch_, scratch_.add_lane(), field, cell.text);
    for (const engine::Doubt& doubt : scratch_.doubts())
      report(Code::C0103, cell.span, std::string(engine::info(field).name) + ": " + doubt.reason);
  }

  void read_day(const TableCell& cell, Example& example) {
    const auto date = engine::parse_date(cell.text);
    if (date && date->precision >= engine::Precision::Day) {
      example.as_of = date->day();
    } else {
      report(Code::C0103, cell.span, "as-of: " + in_ticks(cell.text) + " is no day",
             "write it as 2026-03-02");
    }
  }

  void read_expectations(const TableCell& cell, Example& example) {
    std::string_view rest = cell.text;
    while (!rest.empty()) {
      const std::size_t end = std::min(rest.find(';'), rest.size());
      const std::string_view part = trimmed(rest.substr(0, end));
      rest.remove_prefix(std::min(end + 1, rest.size()));
      if (part.empty()) continue;
      if (const auto expectation = read_expectation(part, cell.span)) {
        example.expectations.push_back(*expectation);
      }
    }
  }

  std::optional<Expectation> read_expectation(std::string_view part, Span span) {
    Expectation result;
    const std::size_t blank = std::min(part.find(' '), part.size());
    const std::string_view what = part.substr(0, blank);
    std::string_view rest = trimmed(part.substr(blank));
    if (!rest.empty()) {
      if (!rest.starts_with("from ")) {
        report(Code::C0104, span, in_ticks(part) + " cannot be read",
               "write it as in `hold from dose-range`; several are separated by `;`");
        return std::nullopt;
      }
      result.rule = trimmed(rest.substr(5));
      if (!known_rule(result.rule, span)) return std::nullopt;
    }
    if (engine::set_expected(result, what)) return result;
    report(Code::C0104, span, "nothing is graded " + in_ticks(what),
           "expect note, caution, clarify, hold, clear, incomplete or nothing");
    return std::nullopt;
  }

  bool known_rule(const std::string& name, Span span) {
    NearName near(name);
    for (const engine::Rule& rule : program_.rules) {
      if (rule.name == name) return true;
      near.offer(rule.name);
    }
    report(Code::C0104, span, "no rule is named " + in_ticks(name),
           near.best().empty() ? "`meniscus rules list` names them"
                               : "is " + in_ticks(near.best()) + " meant?");
    return false;
  }

  void say_unused() {
    for (const Earlier& earlier : earlier_) {
      if (earlier.used) continue;
      report(
          Code::C0105, earlier.span, "the row expects nothing, and no row below has its patient.id",
          "say in `expect` what it should give, or put it above the row that it is earlier than");
    }
  }

  const engine::Program& program_;
  ExampleOrders orders_;
  std::shared_ptr<const engine::SourceText> source_;
  std::vector<Column> columns_;
  std::vector<Earlier> earlier_;
  engine::OrderBlock scratch_;
  CaseTable out_;
};
}  // namespace

CaseTable read_cases(const std::string& name, const std::string& text,
                     const engine::Program& program) {
  return Reader(name, text, program).read();
}

}  // namespace meniscus::adapters
