// Contract: see rule_page.hpp.
#include "adapters/rules/rule_page.hpp"

#include <algorithm>
#include <optional>
#include <set>
#include <string_view>

#include "adapters/rules/rule_prose.hpp"
#include "adapters/rules/rule_reads.hpp"
#include "adapters/rules/rule_text.hpp"
#include "engine/quantity/calendar.hpp"

namespace meniscus::adapters {

namespace {
using engine::Program;
using engine::Rule;
using engine::Setting;

/// A text in a Markdown table or sentence.
std::string escaped(std::string_view text) {
  std::string out;
  for (const char c : text) {
    const bool link = c == '(' && !out.empty() && out.back() == ']';  // `[.](...)` is none
    if (c == '|' || c == '<' || c == '*' || c == '[' || link) out += '\\';
    out += c;
  }
  return out;
}

std::string capital(std::string_view text) {
  std::string out(text);
  if (!text.empty() && text.front() >= 'a' && text.front() <= 'z') out[0] -= 'a' - 'A';
  return out;
}

/// What a heading is called in a link (as common Markdown readers make it).
std::string anchor(std::string_view heading) {
  std::string out;
  for (const char c : heading) {
    if (c == ' ') out += '-';
    if (c >= 'A' && c <= 'Z') out += static_cast<char>(c + 32);
    if (is_name_char(c) && c != '.' && (c < 'A' || c > 'Z')) out += c;
  }
  return out;
}

/// The folder of a rule file, or its name where it stands in none: what its rules are about.
std::string subject_of(std::string_view name) {
  const std::size_t slash = name.find('/');
  return capital(name.substr(0, slash == std::string_view::npos ? name.rfind('.') : slash));
}

engine::Grade gravest(const Rule& rule) {
  engine::Grade grade = engine::Grade::Note;
  for (const engine::Clause& clause : rule.clauses)
    grade = std::max(grade, clause.grade);
  for (const engine::Without& without : rule.withouts) {
    if (!without.ignore) grade = std::max(grade, without.grade);
  }
  return grade;
}

void append_line(std::string& out, std::string_view label, std::string_view text) {
  if (text.empty()) return;
  out += label;
  out += text;
  out += '\n';
}

std::string example_fields(const engine::ExampleOrder& order) {
  std::string text;
  for (const engine::ExampleField& field : order.fields) {
    if (!text.empty()) text += ", ";
    text.append(engine::info(field.field).name).append(" = ").append(field.text);
  }
  return text;
}

class Page {
 public:
  Page(const Program& program, const std::vector<RuleFile>& files)
      : program_(program), files_(files), prose_(program) {
    for (const auto& [name, node] : program.defines)
      terms_.insert(name);
  }

  std::string text() {
    append_glance();
    std::string subject;
    for (const Rule& rule : program_.rules) {
      const RuleFile* file = file_of(rule.file);
      const std::string about = subject_of(file == nullptr ? rule.file : file->name);
      if (about != subject) append_heading("## ", about);
      const bool alone = file != nullptr && file->name.find('/') != std::string::npos;
      if (about != subject && file != nullptr && !alone) append_introduction(*file);
      subject = about;
      append_rule(rule, alone ? file : nullptr);
    }
    append_settings();
    append_terms();
    append_tables();
    return std::move(out_);
  }

 private:
  [[nodiscard]] const RuleFile* file_of(const std::string& path) const {
    const auto at = std::find_if(files_.begin(), files_.end(),
                                 [&](const RuleFile& file) { return file.path == path; });
    return at == files_.end() ? nullptr : &*at;
  }

  void append_heading(std::string_view level, std::string_view heading) {
    out_ += '\n';
    out_ += level;
    out_ += heading;
    out_ += "\n\n";
  }

  void append_glance() {
    out_ += std::to_string(program_.rules.size()) + " rules, " +
            std::to_string(program_.examples.size()) + " examples.\n\n";
    out_ += "| rule | what it asks for | gravest grade |\n| --- | --- | --- |\n";
    for (const Rule& rule : program_.rules) {
      out_ += "| [" + rule.name + "](#" + anchor(rule.name) + ") | " + escaped(rule.title) + " | " +
              std::string(engine::name(gravest(rule))) + " |\n";
    }
  }

  void append_introduction(const RuleFile& file) {
    const std::vector<Paragraph> all = paragraphs(file.text);
    if (!all.empty() && all.front().lines.empty()) out_ += escaped(all.front().comment) + "\n";
  }

  /// A condition or an expression as people read it.
  [[nodiscard]] std::string prose(std::string_view code) const { return escaped(prose_(code)); }

  void append_saying(const std::string& say, const std::string& ask) {
    if (!say.empty()) out_ += " Says: *" + escaped(say) + "*";
    if (!ask.empty()) out_ += " Asks: *" + escaped(ask) + "*";
    out_ += '\n';
  }

  /// `own`: the file that holds this rule alone; its head is about the rule.
  void append_rule(const Rule& rule, const RuleFile* own) {
    const RuleText text = split_rule(rule.text);
    append_heading("### ", rule.name);
    out_ += "**" + escaped(rule.title) + ".** Looks at " + prose(text.concerns) + ".\n\n";
    if (own != nullptr) {
      append_introduction(*own);
      out_ += '\n';
    }
    for (const ClauseText& clause : text.clauses) {
      out_ += "- **" + clause.grade + "** when " + prose(clause.when) + ".";
      append_saying(clause.say, clause.ask);
    }
    std::string ignored;
    for (const WithoutText& without : text.withouts) {
      if (without.grade.empty()) {
        if (!ignored.empty()) ignored += ", ";
        ignored += without.fields;
        continue;
      }
      out_ +=
          "- **" + without.grade + "** where it could not be told without " + without.fields + ".";
      append_saying(without.say, without.ask);
    }
    if (!ignored.empty()) out_ += "- Silent where it could not be told without " + ignored + ".\n";
    out_ += '\n';
    append_words(rule, text);
    append_line(out_, "- Source: ", escaped(rule.cite) + ".");
    append_line(out_, "- Owner: ", owner(rule) + "\n");
    append_examples(rule);
  }

  static std::string owner(const Rule& rule) {
    std::string text = rule.owner;
    if (rule.reviewed) text += ", reviewed " + engine::format_day(*rule.reviewed);
    if (rule.review_by) text += ", again by " + engine::format_day(*rule.review_by);
    return text + ".";
  }

  /// What the rule's own names and the settings, terms and tables in it are.
  void append_words(const Rule& rule, const RuleText& text) {
    for (const auto& [name, expression] : text.lets)
      out_ += "- Here *" + name + "* is " + prose(expression) + ".\n";
    const RuleReads reads = reads_of(program_, rule);
    std::string settings;
    for (const std::uint32_t index : reads.settings) {
      const Setting& setting = program_.settings[index];
      if (!settings.empty()) settings += ", ";
      settings += "`" + setting.name + "` " + setting_text(setting);
      if (setting.least && setting.most) settings += " (" + range_text(setting) + ")";
    }
    if (!settings.empty()) append_line(out_, "- [Settings](#settings): ", settings + ".");
    std::string terms;
    for (const std::string& term : terms_) {
      if (!uses(rule.text, term)) continue;
      if (!terms.empty()) terms += ", ";
      terms += term;
    }
    if (!terms.empty()) append_line(out_, "- [Terms](#terms): ", terms + ".");
    std::string tables;
    for (const std::uint32_t index : reads.tables) {
      if (!tables.empty()) tables += ", ";
      tables += program_.tables[index].name;
    }
    if (!tables.empty()) append_line(out_, "- [Tables](#tables): ", tables + ".");
  }

  static bool uses(std::string_view text, std::string_view name) {
    for (std::size_t at = text.find(name); at != std::string_view::npos;
         at = text.find(name, at + 1)) {
      const std::size_t end = at + name.size();
      const bool begins = at == 0 || !is_name_char(text[at - 1]);
      if (begins && (end == text.size() || !is_name_char(text[end]) || text[end] == '.'))
        return true;
    }
    return false;
  }

  void append_examples(const Rule& rule) {
    bool headed = false;
    for (const engine::Example& example : program_.examples) {
      for (const engine::Expectation& expectation : example.expectations) {
        if (expectation.rule != rule.name) continue;
        if (!headed) out_ += "Examples:\n\n";
        headed = true;
        out_ += "- " + escaped(capital(example.title)) + ": ";
        out_ += expectation.nothing ? "nothing to say"
                                    : "**" + std::string(engine::name(*expectation.outcome)) + "**";
        out_ += ". `" + example_fields(example.order) + "`";
        for (const engine::ExampleOrder& earlier : example.earlier)
          out_ += "; earlier `" + example_fields(earlier) + "`";
        out_ += '\n';
      }
    }
  }

  void append_settings() {
    append_heading("## ", "Settings");
    out_ +=
        "A site may change a setting within its limits, in a file of its own. `unset`: the site "
        "decides.\n";
    for (const RuleFile& file : files_) {
      for (const Paragraph& paragraph : paragraphs(file.text))
        append_settings(paragraph);
    }
  }

  void append_settings(const Paragraph& paragraph) {
    constexpr std::string_view kSetting = "setting ";
    bool headed = false;
    for (const std::string& line : paragraph.lines) {
      if (!line.starts_with(kSetting)) continue;
      const std::string name = line.substr(kSetting.size(), line.find(' ', kSetting.size()) - 8);
      const Setting* known = prose_.setting(name);
      if (known == nullptr) continue;
      const Setting& setting = *known;
      if (!headed) {
        out_ += '\n' + escaped(paragraph.comment) + "\n\n";
        out_ += "| setting | shipped | limits | what it is |\n| --- | --- | --- | --- |\n";
      }
      headed = true;
      out_ += "| `" + setting.name + "` | " + setting_text(setting) + " | " + range_text(setting) +
              " | " + escaped(setting.title) + " |\n";
    }
  }

  void append_terms() {
    constexpr std::string_view kDefine = "define ";
    append_heading("## ", "Terms");
    for (const RuleFile& file : files_) {
      for (const Paragraph& paragraph : paragraphs(file.text)) {
        std::string_view comment = paragraph.comment;
        for (const std::string& line : paragraph.lines) {
          const std::size_t equals = line.find(" = ");
          if (!line.starts_with(kDefine) || equals == std::string::npos) continue;
          out_ += "- *" + line.substr(kDefine.size(), equals - kDefine.size()) + "* is " +
                  prose(line.substr(equals + 3)) + ".";
          if (!comment.empty()) out_ += " " + escaped(comment);
          comment = {};
          out_ += '\n';
        }
      }
    }
  }

  void append_tables() {
    append_heading("## ", "Tables");
    out_ +=
        "All rows, without their other spellings. The last column counts the sources under the "
        "table; "
        "in brackets stands how each is known. An empty cell: no published figure was at hand, and "
        "a "
        "rule has nothing to compare with.\n";
    for (const engine::Table& table : program_.tables) {
      append_heading("### ", "Table " + table.name);
      const std::string file = table.file.substr(table.file.rfind('/') + 1);
      out_ += "`" + file + "`, " + std::to_string(table.rows()) + " rows.\n\n";
      append_rows(table);
    }
  }

  /// Every row, with the number of its source; then the sources.
  void append_rows(const engine::Table& table) {
    std::vector<std::size_t> shown;
    std::string rule = "|";
    out_ += '|';
    for (std::size_t i = 0; i < table.columns.size(); ++i) {
      const std::string& name = table.columns[i].name;
      if (name == "synonyms" || name == "source" || name == "how") continue;
      shown.push_back(i);
      out_ += " " + name + " |";
      rule += " --- |";
    }
    const std::optional<std::size_t> source = table.column("source");
    out_ += source ? " source |\n" + rule + " --- |\n" : "\n" + rule + '\n';
    std::vector<std::string> sources;
    for (std::size_t row = 0; row < table.rows(); ++row) {
      out_ += '|';
      for (const std::size_t column : shown)
        out_ += " " + cell_text(table.cell(row, column)) + " |";
      if (source) out_ += " " + std::to_string(source_number(sources, table, row)) + " |";
      out_ += '\n';
    }
    out_ += '\n';
    for (std::size_t i = 0; i < sources.size(); ++i)
      out_ += std::to_string(i + 1) + ". " + sources[i] + ".\n";
  }

  static std::string cell_text(const engine::Value& cell) {
    if (cell.state == engine::State::None) return {};
    return cell.text.empty() ? "any" : escaped(cell.text);
  }

  /// From 1; adds the row's source where it is new.
  static std::size_t source_number(std::vector<std::string>& sources, const engine::Table& table,
                                   std::size_t row) {
    std::string text = escaped(table.cell(row, *table.column("source")).text);
    if (const std::optional<std::size_t> how = table.column("how"))
      text.append(" (").append(table.cell(row, *how).text).append(")");
    const auto at = std::find(sources.begin(), sources.end(), text);
    if (at != sources.end()) return static_cast<std::size_t>(at - sources.begin()) + 1;
    sources.push_back(std::move(text));
    return sources.size();
  }

  const Program& program_;
  const std::vector<RuleFile>& files_;
  RuleProse prose_;
  std::set<std::string> terms_;
  std::string out_;
};
}  // namespace

std::string rule_page(const Program& program, const std::vector<RuleFile>& files) {
  return Page(program, files).text();
}

}  // namespace meniscus::adapters
