// Compiles rules from text and judges orders given as field = text pairs: for tests of what the
// language means, without files.
#pragma once

#include <gtest/gtest.h>

#include <map>
#include <memory>
#include <string>
#include <utility>
#include <vector>

#include "engine/eval/checker.hpp"
#include "engine/order/field_text.hpp"
#include "grammar/compile.hpp"

namespace meniscus::testing {

using Fields = std::vector<std::pair<std::string, std::string>>;

/// Patterns of tests are plain substrings.
class SubstringPattern : public engine::Pattern {
 public:
  explicit SubstringPattern(std::string text) : text_(std::move(text)) {}
  [[nodiscard]] bool found_in(std::string_view text) const override {
    return text.find(text_) != std::string_view::npos;
  }

 private:
  std::string text_;
};

struct Judged {
  std::string outcome;
  std::vector<std::string> findings;      // "hold dose-volume-agreement: say"
  std::vector<std::string> not_assessed;  // "volume: rule, rule"
  std::vector<std::string> muted;         // "hold rule: say (reason, role)"
  std::vector<std::string> trial;         // "hold rule: say"
  std::vector<std::string> slips;         // "dose: 500 mg -> 50 mg (rule rule)"
  [[nodiscard]] std::string all() const {
    std::string text = outcome;
    for (const std::string& f : findings)
      text += " | " + f;
    for (const std::string& n : not_assessed)
      text += " | ? " + n;
    for (const std::string& m : muted)
      text += " | muted " + m;
    for (const std::string& t : trial)
      text += " | trial " + t;
    return text;
  }
};

/// A file of a site's own beside the rules.
struct LocalFile {
  std::string text;
  std::int64_t rules_day = 20514;  // 2026-03-02
  bool allow_mute_hold = false;
};

class RulesUnderTest {
 public:
  explicit RulesUnderTest(const std::string& rules, std::map<std::string, std::string> files = {},
                          const LocalFile& local = {}) {
    grammar::CompileOptions options;
    options.read_file = [files](const std::string& path) -> engine::Result<std::string> {
      const auto at = files.find(path);
      if (at == files.end()) return engine::Error{engine::Errc::Input, "no such file", 0, 0};
      return at->second;
    };
    options.compile_pattern = [](const std::string& text) {
      return engine::Result<std::shared_ptr<const engine::Pattern>>(
          std::make_shared<SubstringPattern>(text));
    };
    options.rules_day = local.rules_day;
    options.allow_mute_hold = local.allow_mute_hold;
    grammar::Compiled compiled =
        grammar::compile({{"local.rule", local.text}, {"test.rule", rules, true}}, options);
    for (const engine::Diagnostic& d : compiled.diagnostics)
      errors_ += engine::render(d);
    program_ = compiled.program;
    EXPECT_TRUE(program_ != nullptr) << errors_;
  }

  [[nodiscard]] const engine::Program& program() const { return *program_; }
  [[nodiscard]] const std::shared_ptr<const engine::Program>& shared() const { return program_; }
  [[nodiscard]] const std::string& errors() const { return errors_; }

  engine::CheckOptions options = on_day(20514);  // 2026-03-02

  /// "field: rule rule", as Checker::never_assessed has it for `options`.
  [[nodiscard]] std::vector<std::string> never_assessed() const {
    std::vector<std::string> lines;
    for (const engine::NotAssessed& entry : engine::Checker(program_, options).never_assessed())
      lines.push_back(line_of(entry));
    return lines;
  }

  /// Judges the orders as one input; the last one's verdict.
  Judged last(const std::vector<Fields>& orders) { return all(orders).back(); }
  Judged one(const Fields& order) { return last({order}); }

  std::vector<Judged> all(const std::vector<Fields>& orders) {
    std::vector<Judged> columns = run(orders, engine::Mode::Columns);
    const std::vector<Judged> one_by_one = run(orders, engine::Mode::OneByOne);
    for (std::size_t i = 0; i < columns.size(); ++i) {
      EXPECT_EQ(columns[i].all(), one_by_one[i].all());
      EXPECT_EQ(columns[i].slips, one_by_one[i].slips);
    }
    return columns;
  }

 private:
  static engine::CheckOptions on_day(std::int64_t day) {
    engine::CheckOptions options;
    options.today = day;
    return options;
  }

  std::vector<Judged> run(const std::vector<Fields>& orders, engine::Mode mode) {
    options.mode = mode;
    engine::Checker checker(program_, options);
    engine::History history(program_->look_back, program_->history_fields,
                            program_->history_written);
    engine::OrderBlock block;
    const engine::Feed feed;
    const engine::ReadContext context{program_.get(), &feed};
    std::vector<Judged> judged;
    const auto flush = [&] {
      checker.check(block, history,
                    [&](const engine::Verdict& v) { judged.push_back(summary(v)); });
      block.clear();
    };
    for (const Fields& order : orders) {
      const unsigned lane = block.add_lane();
      for (const auto& [name, text] : order) {
        const auto field = engine::field_named(name);
        if (!field) {
          ADD_FAILURE() << "no field " << name;
          continue;
        }
        if (text == "none") {
          block.set(lane, *field, engine::Value::none(), "", {0, 0});
        } else {
          engine::set_field(context, block, lane, *field, block.keep(text), {0, 1});
        }
      }
      engine::complete(context, block, lane);
      if (block.full()) flush();
    }
    flush();
    return judged;
  }

  static std::string text_of(const engine::Hidden& hidden) {
    return std::string(name(hidden.grade)) + " " + std::string(hidden.rule) + ": " + hidden.say;
  }

  static std::string line_of(const engine::NotAssessed& entry) {
    std::string text = entry.missing + ":";
    for (const std::string_view rule : entry.rules)
      text += " " + std::string(rule);
    return text;
  }

  static Judged summary(const engine::Verdict& verdict) {
    Judged judged;
    judged.outcome = name(verdict.outcome);
    for (const engine::Finding& f : verdict.findings) {
      judged.findings.push_back(std::string(name(f.grade)) + " " + std::string(f.rule) + ": " +
                                f.say);
    }
    for (const engine::Hidden& h : verdict.muted) {
      judged.muted.push_back(text_of(h) + " (" + h.change->because + ", " + h.change->by + ")");
    }
    for (const engine::Hidden& h : verdict.trial)
      judged.trial.push_back(text_of(h));
    for (const engine::NotAssessed& line : verdict.not_assessed)
      judged.not_assessed.push_back(line_of(line));
    for (const engine::Slip& slip : verdict.slips) {
      std::string text(engine::info(slip.field).name);
      text += ": " + slip.from + " -> " + slip.to + " (";
      for (const std::string_view rule : slip.clears)
        text += (text.back() == '(' ? "" : " ") + std::string(rule);
      judged.slips.push_back(text + ")");
    }
    return judged;
  }

  std::shared_ptr<const engine::Program> program_;
  std::string errors_;
};

}  // namespace meniscus::testing
