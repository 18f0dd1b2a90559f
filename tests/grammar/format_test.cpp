// The layout of rule files: what it looks like, and that it never changes what the rules mean.
#include "grammar/format.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <ostream>
#include <random>
#include <set>
#include <sstream>

#include "engine/quantity/calendar.hpp"
#include "grammar/frontend/parse.hpp"
#include "tests/grammar/lower/rule_text.hpp"

namespace meniscus::grammar::testing {
namespace {

struct Case {
  std::string name, before, after;
};
std::ostream& operator<<(std::ostream& out, const Case& c) { return out << c.name; }

const std::vector<Case> kCases = {
    {"Indents",
     "rule r \"R\"\nconcerns all orders\n raise hold when dose > 5 mg\n say \"s\"\n"
     "            ask \"a\"\nblames dose\n  without dose\n  raise note\n  say \"x\"\n",
     "rule r \"R\"\n    concerns all orders\n    raise hold when dose > 5 mg\n        say \"s\"\n"
     "        ask \"a\"\n        blames dose\n    without dose\n        raise note\n"
     "        say \"x\"\n"},
    {"LinesThatTheWriterJoinedStayJoined",
     "rule r \"R\" concerns all orders\nraise hold when dose > 5 mg say \"s\" blames dose\n",
     "rule r \"R\" concerns all orders\n    raise hold when dose > 5 mg say \"s\" blames dose\n"},
    {"LinesThatGoOn",
     "define x =\n a +\n b\nrule r \"R\"\n raise hold when dose > 5 mg\n and volume > 1 mL\n"
     " say\n \"s\" blames dose\n",
     "define x =\n    a +\n    b\n\nrule r \"R\"\n    raise hold when dose > 5 mg\n"
     "            and volume > 1 mL\n        say\n            \"s\" blames dose\n"},
    {"Blanks",
     "define  x=( - 5   +  a )  * 2\ndefine y = 100   mg/5 mL\ndefine z = 1   1/2   in\n"
     "define l = a is one of b ,c,d\n",
     "define x = (-5 + a) * 2\ndefine y = 100 mg/5 mL\ndefine z = 1 1/2 in\n"
     "define l = a is one of b, c, d\n"},
    {"WordsOfSeveral", "define x = a or\n   else  b  as   written",
     "define x = a or\n    else b as written\n"},
    {"TitlesOfSettings",
     "setting a = 1 mL \"Title\"\nsetting b=\"x\" between \"a\" and \"b\"    \"Title\"\n"
     "setting c   unset\"Title\"\n",
     "setting a = 1 mL  \"Title\"\nsetting b = \"x\" between \"a\" and \"b\"  \"Title\"\n"
     "setting c unset  \"Title\"\n"},
    {"BlankLines",
     "\n\nsetting a = 1\n\n\n\nsetting b = 2\nexample \"e\"\n\n\n    expect clear\nsetting c = "
     "3\n\n\n",
     "setting a = 1\n\nsetting b = 2\n\nexample \"e\"\n\n    expect clear\n\nsetting c = 3\n"},
    {"Comments",
     "   # top\n\nsetting a = 1# behind\n # about b\n # more\nsetting b = 2\n# about e\nexample "
     "\"e\"\n"
     "  # in it   \n# at the margin\n    expect clear      #last\n  # below\n\n",
     "# top\n\nsetting a = 1  # behind\n# about b\n# more\nsetting b = 2\n\n# about e\nexample "
     "\"e\"\n"
     "    # in it\n# at the margin\n    expect clear  #last\n    # below\n"},
    {"CommentInAPhrase", "define x = look # here\n up a in t where row.b is c\n",
     "define x = look  # here\n    up a in t where row.b is c\n"},
    {"QuotesInAComment", "# don't \"quote\ndefine x  =  a\n", "# don't \"quote\ndefine x = a\n"},
    {"TextsStay",
     "table  t from \"a  b#c.csv\"\nrule r \"R  \t\\\" # no\"\n raise note when a\n"
     " say \"{ dose }  is {{\" blames dose\n",
     "table t from \"a  b#c.csv\"\n\nrule r \"R  \t\\\" # no\"\n    raise note when a\n"
     "        say \"{ dose }  is {{\" blames dose\n"},
    {"OtherLineEndsAndTabs", "\xEF\xBB\xBF# a\tb\r\ndefine\tx =\ta\r\n\r\n\r\ndefine y = b",
     "# a b\ndefine x = a\n\ndefine y = b\n"},
    {"OnlyComments", "\n # a\n\n\n # b", "# a\n\n# b\n"},
    {"Nothing", "", ""},
    {"OnlyBlanks", "  \n \n", ""},
    {"LocalChanges", "retire r because \"x\"\n by \"y\" until 2026-01-01\n",
     "retire r because \"x\"\n    by \"y\" until 2026-01-01\n"},
};

class Layout : public ::testing::TestWithParam<Case> {};
TEST_P(Layout, IsTheOne) {
  const Case& c = GetParam();
  const Formatted got = format("t.rule", c.before);
  ASSERT_TRUE(got.good) << engine::render(got.diagnostics.front());
  EXPECT_EQ(got.text, c.after);
  EXPECT_EQ(format("t.rule", got.text).text, got.text);
}
INSTANTIATE_TEST_SUITE_P(Text, Layout, ::testing::ValuesIn(kCases),
                         [](const auto& info) { return info.param.name; });

TEST(LayoutOfMistakes, IsLeftAsItIsWithItsDiagnostics) {
  const std::string text = "\tdefine x =   5mg\r\nrule  r";
  const Formatted got = format("t.rule", text);
  EXPECT_FALSE(got.good);
  EXPECT_EQ(got.text, text);
  ASSERT_EQ(got.diagnostics.size(), 2U);
  EXPECT_EQ(engine::render_line(got.diagnostics[0]),
            "t.rule:1:15: error[R0107]: found `5mg`; a number and its unit need a blank between "
            "them");
  EXPECT_EQ(got.diagnostics[1].code, "R0404");
}

// ---------------------------------------------------------------- over whole rule sets

std::string read(const std::string& path) {
  std::ifstream in(path, std::ios::binary);
  std::stringstream text;
  text << in.rdbuf();
  return text.str();
}

std::vector<RuleSource> set_in(const std::string& folder) {
  std::vector<RuleSource> set;
  for (const auto& entry : std::filesystem::recursive_directory_iterator(folder)) {
    const std::string path = entry.path().string();
    if (path.ends_with(".rule")) set.push_back({path, read(path)});
  }
  std::sort(set.begin(), set.end(), [](const auto& a, const auto& b) { return a.name < b.name; });
  return set;
}

const std::vector<RuleSource>& shipped() {
  static const auto kSet = set_in(MENISCUS_SOURCE_DIR "/rules");
  return kSet;
}
const std::vector<RuleSource>& fixtures() {
  static const auto kSet = set_in(MENISCUS_SOURCE_DIR "/tests/fixtures/rules");
  return kSet;
}

TEST(LayoutOfShippedRules, IsTheOne) {
  ASSERT_GT(shipped().size(), 70U);
  for (const RuleSource& file : shipped()) {
    const Formatted got = format(file.name, file.text);
    ASSERT_TRUE(got.good) << engine::render(got.diagnostics.front());
    EXPECT_EQ(got.text, file.text) << file.name << ": run `meniscus rules format rules`";
  }
}

void append(std::string& out, const engine::Template& text) {
  for (const engine::Template::Piece& piece : text.pieces)
    out += piece.text + "{" + std::to_string(piece.node) + "}";
  out += '\n';
}

void append(std::string& out, const engine::Rule& rule) {
  out += rule.name + rule.title + rule.cite + rule.owner +
         std::to_string(rule.reviewed.value_or(0)) + std::to_string(rule.review_by.value_or(0)) +
         '\n';
  for (const engine::Clause& clause : rule.clauses) {
    append(out, clause.say);
    append(out, clause.ask);
    for (const engine::FieldId field : clause.blames)
      out += std::string(engine::info(field).name) + '\n';
  }
  for (const engine::Without& without : rule.withouts) {
    out += std::to_string(static_cast<int>(without.grade)) + (without.ignore ? " ignored\n" : "\n");
    append(out, without.say);
    append(out, without.ask);
    for (const engine::FieldId field : without.fields)
      out += std::string(engine::info(field).name) + '\n';
  }
}

void append(std::string& out, const engine::Example& example) {
  out += example.title + '\n';
  std::vector<engine::ExampleOrder> orders = example.earlier;
  orders.push_back(example.order);
  for (const engine::ExampleOrder& order : orders) {
    for (const engine::ExampleField& field : order.fields)
      out += std::string(engine::info(field.field).name) + "=" + field.text + '\n';
  }
  for (const engine::Expectation& hope : example.expectations) {
    out += hope.rule + (hope.nothing ? " nothing " : " ") +
           std::to_string(hope.outcome ? static_cast<int>(*hope.outcome) : -1) + '\n';
  }
}

/// All that a program is, but for places.  Empty, with a failure, where there is none.
std::string meaning(const std::vector<RuleSource>& set) {
  CompileOptions options = options_with({});
  options.read_file = [](const std::string& path) {
    return engine::Result<std::string>(read(path));
  };
  options.rules_day = 20782;  // 2026-11-25
  const Compiled compiled = compile(set, options);
  if (compiled.program == nullptr) {
    for (const engine::Diagnostic& d : compiled.diagnostics)
      ADD_FAILURE() << engine::render(d);
    return {};
  }
  std::string out = engine::print(*compiled.program);
  for (const engine::Rule& rule : compiled.program->rules)
    append(out, rule);
  for (const engine::Setting& setting : compiled.program->settings)
    out += setting.name + setting.title + std::to_string(setting.value.number) +
           setting.least_text + setting.most_text + '\n';
  for (const engine::Example& example : compiled.program->examples)
    append(out, example);
  for (const engine::LocalChange& change : compiled.program->changes)
    out += change.what + change.because + change.by + '\n';
  return out;
}

/// The first line that is not the same; empty where the texts are equal.
std::string first_difference(const std::string& a, const std::string& b) {
  const auto [at, other] = std::mismatch(a.begin(), a.end(), b.begin(), b.end());
  if (at == a.end() && other == b.end()) return {};
  const auto start = a.rfind('\n', static_cast<std::size_t>(at - a.begin()));
  return a.substr(start + 1, 200);
}

/// The text without blanks and line breaks, but for those in quotes.
std::string bare(std::string_view text) {
  std::string out;
  bool quoted = false;
  bool comment = false;
  for (std::size_t i = 0; i < text.size(); ++i) {
    const char c = text[i];
    if (c == '\n') quoted = comment = false;
    if (c == '#' && !quoted) comment = true;
    if (c == '"' && !comment && (i == 0 || text[i - 1] != '\\' || !quoted)) quoted = !quoted;
    const bool blank = c == ' ' || c == '\t' || c == '\r' || c == '\n';
    if (!blank || quoted) out += c;
  }
  return out;
}

/// Another layout of the same rules, with comments in new places.
class Spoiler {
 public:
  explicit Spoiler(unsigned seed) : random_(seed) {}

  std::string spoil(const RuleSource& file) {
    const auto source = std::make_shared<const engine::SourceText>(file.name, file.text);
    const Parsed parsed = parse(source, ParseLimits{});
    std::string out;
    Tok before = Tok::END;
    for (std::size_t i = 0; i < parsed.tokens.size(); ++i) {
      const Token token = parsed.tokens[i];
      Span span = token.span;
      if (token.kind == Tok::TEXT_BEGIN) {
        while (parsed.tokens[i].kind != Tok::TEXT_END)
          ++i;
        span.end = parsed.tokens[i].span.end;
      }
      gap(out, before, token.kind);
      out += source->slice(span);
      before = token.kind;
    }
    if (one_in(2)) out += "  # the end";
    if (one_in(2)) out += one_in(2) ? "\n\n\n" : "\r\n";
    return out;
  }

 private:
  bool one_in(unsigned n) { return random_() % n == 0; }

  void blanks(std::string& out, std::size_t least) {
    for (std::size_t n = random_() % 4 + least; n > 0; --n)
      out += one_in(6) ? '\t' : ' ';
  }

  void line_ends(std::string& out) {
    for (std::size_t n = random_() % 3 + 1; n > 0; --n) {
      if (one_in(5)) {
        blanks(out, 0);
        out += "# note \"" + std::to_string(++comments_) + "  'x' ";
      }
      out += one_in(3) ? "\r\n" : "\n";
    }
    blanks(out, 0);
  }

  void gap(std::string& out, Tok before, Tok kind) {
    const bool glued = kind == Tok::PER || before == Tok::PER;
    if (glued) return;
    const bool touches = kind == Tok::COMMA || kind == Tok::RPAREN || before == Tok::LPAREN;
    // A name may be a word of the language at the start of a line, and a unit stays by its number.
    const bool must_break = is_item(kind);
    const bool may_break = kind != Tok::NAME && kind != Tok::PATH && kind != Tok::UNIT;
    if (must_break || (may_break && one_in(6))) {
      if (before != Tok::END || one_in(2)) line_ends(out);
    } else {
      blanks(out, touches ? 0 : 1);
    }
  }

  std::mt19937 random_;
  int comments_ = 0;
};

struct NamedSet {
  std::string name;
  const std::vector<RuleSource>& (*files)();
};
std::ostream& operator<<(std::ostream& out, const NamedSet& set) { return out << set.name; }

class LayoutOf : public ::testing::TestWithParam<NamedSet> {};

TEST_P(LayoutOf, FormattingKeepsTheMeaningAndIsDoneAtOnce) {
  std::vector<RuleSource> set = GetParam().files();
  const std::string meant = meaning(set);
  ASSERT_FALSE(meant.empty());
  for (RuleSource& file : set) {
    const Formatted got = format(file.name, file.text);
    ASSERT_TRUE(got.good) << file.name;
    EXPECT_EQ(bare(got.text), bare(file.text)) << file.name;
    EXPECT_EQ(format(file.name, got.text).text, got.text) << file.name;
    file.text = got.text;
  }
  EXPECT_EQ(first_difference(meaning(set), meant), "");
}

TEST_P(LayoutOf, SpoiledLayoutsKeepTheMeaningToo) {
  const std::string meant = meaning(GetParam().files());
  std::set<std::string> layouts;
  for (unsigned seed = 1; seed <= 12; ++seed) {
    Spoiler spoiler(seed);
    std::vector<RuleSource> set = GetParam().files();
    for (RuleSource& file : set) {
      const std::string spoiled = spoiler.spoil(file);
      layouts.insert(spoiled);
      const Formatted got = format(file.name, spoiled);
      ASSERT_TRUE(got.good) << engine::render(got.diagnostics.front());
      ASSERT_EQ(bare(got.text), bare(spoiled)) << file.name << ", seed " << seed;
      ASSERT_EQ(format(file.name, got.text).text, got.text) << file.name << ", seed " << seed;
      EXPECT_EQ(got.text.find('\r'), std::string::npos);
      EXPECT_EQ(got.text.find('\t'), std::string::npos);
      EXPECT_EQ(got.text.find(" \n"), std::string::npos) << file.name << ", seed " << seed;
      EXPECT_EQ(got.text.find("\n\n\n"), std::string::npos);
      file.text = got.text;
    }
    EXPECT_EQ(first_difference(meaning(set), meant), "") << "seed " << seed;
  }
  EXPECT_EQ(layouts.size(), GetParam().files().size() * 12);
}

INSTANTIATE_TEST_SUITE_P(Sets, LayoutOf,
                         ::testing::Values(NamedSet{"Shipped", shipped},
                                           NamedSet{"Fixtures", fixtures}),
                         [](const auto& info) { return info.param.name; });

}  // namespace
}  // namespace meniscus::grammar::testing
