// Runs the generated lexer and parser and turns their troubles into our diagnostics.
//
// Bytes:    the lexer is given one symbol a byte, so all places are byte offsets.
// Mistakes: worded by explain(); the parser then goes on at the next word that begins a part of a
//           rule or an item of the file, or at the end of an insertion.  No text of the runtime is
//           ever shown.
#include "grammar/frontend/parse.hpp"

#include <antlr4-runtime.h>

#include <algorithm>
#include <array>
#include <mutex>
#include <optional>
#include <string>
#include <utility>

#include "RuleLexer.h"
#include "RuleParser.h"
#include "engine/base/utf8.hpp"
#include "grammar/frontend/build_tree.hpp"
#include "grammar/frontend/explain.hpp"
#include "grammar/frontend/plain_tokens.hpp"
#include "grammar/frontend/sink.hpp"
#include "grammar/frontend/words.hpp"

namespace meniscus::grammar {
namespace {

using engine::Span;
using generated::RuleLexer;
using generated::RuleParser;

/// Our token kinds and the generated ones have the same names.
constexpr auto kTypes = std::to_array<std::size_t>({
    antlr4::Token::EOF,
#define TOKEN(id, shown) RuleParser::id,
#define WORD(id, phrase, place) RuleParser::id,
#define ALSO(id, phrase, place)
#include "grammar/frontend/tokens.def"
#undef TOKEN
#undef WORD
#undef ALSO
});

constexpr auto kKinds = [] {
  std::array<Tok, 256> kinds{};  // END for types that are not ours
  for (std::size_t i = 1; i < kTypes.size(); ++i)
    kinds.at(kTypes[i]) = static_cast<Tok>(i);
  return kinds;
}();

Tok kind_of(std::size_t type) { return type < kKinds.size() ? kKinds[type] : Tok::END; }
std::size_t type_of(Tok kind) { return kTypes[static_cast<std::size_t>(kind)]; }

/// Unpacks the tables of a generated class that waits for it (start_late.cmake).
template <class Generated>
void unpack() {
  if constexpr (requires { Generated::initialise(); }) Generated::initialise();
}

/// The source as the lexer sees it: one symbol a byte, from `begin` to `end` only.
class ByteStream final : public antlr4::CharStream {
 public:
  explicit ByteStream(std::string_view text) : text_(text), end_(text.size()) {}

  void restrict_to(Span span) {
    at_ = span.begin;
    end_ = span.end;
  }

  void consume() override { ++at_; }
  std::size_t LA(ssize_t i) override {
    const std::size_t at = at_ + static_cast<std::size_t>(i > 0 ? i - 1 : i);
    return i == 0 || at >= end_ ? EOF : static_cast<unsigned char>(text_[at]);
  }
  ssize_t mark() override { return -1; }
  void release(ssize_t /*marker*/) override {}
  std::size_t index() override { return at_; }
  void seek(std::size_t index) override { at_ = std::min(index, end_); }
  std::size_t size() override { return end_; }
  [[nodiscard]] std::string getSourceName() const override { return UNKNOWN_SOURCE_NAME; }
  std::string getText(const antlr4::misc::Interval& interval) override {
    return std::string(text_.substr(static_cast<std::size_t>(interval.a),
                                    static_cast<std::size_t>(interval.b - interval.a + 1)));
  }
  [[nodiscard]] std::string toString() const override { return std::string(text_); }

 private:
  std::string_view text_;  // of the SourceText, which outlives the parse
  std::size_t at_ = 0;
  std::size_t end_;
};

class LexerScanner final : public Scanner {
 public:
  /// `plain`: tokens that need no lexer are told without it.
  explicit LexerScanner(std::string_view text, bool plain = true)
      : text_(text), plain_(plain), stream_(text), lexer_(&stream_) {
    lexer_.removeErrorListeners();
  }

  std::vector<Token> scan(Span span) override {
    std::vector<Token> raw;
    raw.reserve((span.end - span.begin) / 5 + 4);
    const std::string_view text = text_.substr(0, span.end);
    for (std::uint32_t at = skip_blanks(text, span.begin); at < span.end;
         at = skip_blanks(text, raw.back().span.end)) {
      const std::optional<Token> token = plain_ ? plain_token(text, at) : std::nullopt;
      raw.push_back(token ? *token : lexed({at, span.end}));
      if (raw.back().kind == Tok::END) {
        raw.pop_back();
        break;
      }
    }
    return raw;
  }

 private:
  /// The first token, as the generated lexer has it; END where there is none.
  Token lexed(Span span) {
    stream_.restrict_to(span);
    lexer_.hitEOF = false;
    const std::unique_ptr<antlr4::Token> token = lexer_.nextToken();
    if (token->getType() == antlr4::Token::EOF) return {};
    return {kind_of(token->getType()),
            {static_cast<std::uint32_t>(token->getStartIndex()),
             static_cast<std::uint32_t>(token->getStopIndex() + 1)}};
  }

  std::string_view text_;  // of the SourceText, which outlives the parse
  bool plain_;
  ByteStream stream_;
  RuleLexer lexer_;
};

Token token_of(const antlr4::Token* token) {
  return {kind_of(token->getType()),
          {static_cast<std::uint32_t>(token->getStartIndex()),
           static_cast<std::uint32_t>(token->getStopIndex() + 1)}};
}

Reading reading_of(std::size_t rule) {
  if (rule == RuleParser::RuleRuleFile) return Reading::File;
  if (rule == RuleParser::RuleRuleDecl) return Reading::RuleLines;
  if (rule == RuleParser::RuleExample) return Reading::ExampleLines;
  if (rule == RuleParser::RuleLiteral || rule == RuleParser::RuleQuantity ||
      rule == RuleParser::RuleNumber)
    return Reading::Value;
  // The rules of expressions stand together.
  const bool is_expression = rule >= RuleParser::RuleValue && rule <= RuleParser::RulePlace;
  return is_expression ? Reading::Value : Reading::Other;
}

/// Reports by explain(), skips to the next word that begins something, never edits the input.
class RecoverAtWords final : public antlr4::DefaultErrorStrategy {
 public:
  explicit RecoverAtWords(Sink& sink) : sink_(sink) {}

  void reportError(antlr4::Parser* parser, const antlr4::RecognitionException& error) override {
    if (inErrorRecoveryMode(parser)) return;
    beginErrorCondition(parser);
    report(*parser, error.getOffendingToken(), parser->getExpectedTokens());
  }

  void recover(antlr4::Parser* parser, std::exception_ptr /*error*/) override {
    skip(*parser,
         [](Tok kind) { return is_item(kind) || is_part(kind) || kind == Tok::INSERT_END; });
  }

  antlr4::Token* recoverInline(antlr4::Parser* parser) override {
    throw antlr4::InputMismatchException(parser);
  }

  /// Between two items or two lines: what begins neither is reported and skipped.
  void sync(antlr4::Parser* parser) override {
    antlr4::ParserRuleContext* context = parser->getContext();
    const Reading reading = reading_of(context->getRuleIndex());
    if (reading != Reading::File && reading != Reading::RuleLines &&
        reading != Reading::ExampleLines) {
      return;
    }
    const Tok found = kind_of(parser->getTokenStream()->LA(1));
    const auto fits = [reading](Tok kind) { return begins_line(reading, kind) || is_item(kind); };
    if (found == Tok::END || fits(found)) return;
    // Title, dates of force and name of the rule are still to come.
    const antlr4::misc::IntervalSet needed = parser->getExpectedTokens();
    if (needed.contains(parser->getTokenStream()->LA(1))) return;
    if (!inErrorRecoveryMode(parser)) {
      beginErrorCondition(parser);
      report(*parser, parser->getCurrentToken(), needed);
    }
    skip(*parser, fits);
  }

 private:
  static bool begins_line(Reading reading, Tok kind) {
    if (reading == Reading::ExampleLines) {
      return kind == Tok::ORDER || kind == Tok::EARLIER || kind == Tok::EXPECT;
    }
    return reading == Reading::RuleLines && kind >= Tok::CONCERNS && kind <= Tok::REVIEW_BY;
  }

  template <class Fits>
  static void skip(antlr4::Parser& parser, Fits fits) {
    antlr4::TokenStream* stream = parser.getTokenStream();
    for (Tok kind = kind_of(stream->LA(1)); kind != Tok::END && !fits(kind);
         kind = kind_of(stream->LA(1))) {
      stream->consume();
    }
  }

  void report(antlr4::Parser& parser, const antlr4::Token* found,
              const antlr4::misc::IntervalSet& needed) {
    SyntaxFault fault;
    fault.found = token_of(found);
    if (const antlr4::Token* before = parser.getTokenStream()->LT(-1)) {
      fault.before = token_of(before);
    }
    antlr4::ParserRuleContext* context = parser.getContext();
    fault.reading = reading_of(context->getRuleIndex());
    for (const ssize_t type : needed.toList()) {
      fault.needed.push_back(type < 0 ? Tok::END : kind_of(static_cast<std::size_t>(type)));
    }
    if (context->getRuleIndex() == RuleParser::RulePlace && !context->children.empty()) {
      fault.reading = Reading::Other;  // inside the brackets something was read
      fault.opening = token_of(context->getStart());
    }
    explain(fault, sink_);
  }

  Sink& sink_;  // outlives the parser
};

std::vector<std::unique_ptr<antlr4::Token>> parser_tokens(const std::vector<Token>& tokens,
                                                          std::uint32_t size) {
  std::vector<std::unique_ptr<antlr4::Token>> out;
  out.reserve(tokens.size() + 1);
  const auto add = [&out](std::size_t type, Span span) {
    out.push_back(std::make_unique<antlr4::CommonToken>(
        std::pair<antlr4::TokenSource*, antlr4::CharStream*>{}, type,
        antlr4::Token::DEFAULT_CHANNEL, span.begin, static_cast<std::size_t>(span.end) - 1));
  };
  for (const Token& token : tokens)
    add(type_of(token.kind), token.span);
  add(antlr4::Token::EOF, {size, size});
  return out;
}

/// False, with a diagnostic, for a file that is not to be parsed at all.
bool is_readable(const engine::SourceText& source, const ParseLimits& limits, Sink& sink) {
  const std::string_view text = source.text();
  if (text.size() > limits.max_bytes) {
    sink.report(Code::R0119, {0, 0},
                "found " + std::to_string(text.size()) + " bytes; a rule file has at most " +
                    std::to_string(limits.max_bytes),
                "split it into several files");
    return false;
  }
  const std::size_t bad = engine::first_invalid_utf8(text);
  if (bad == std::string_view::npos) return true;
  const auto at = static_cast<std::uint32_t>(bad);
  sink.report(Code::R0102, {at, at + 1}, "found a byte that is no UTF-8 text",
              "save the file as UTF-8");
  return false;
}

}  // namespace

namespace {

/// All parsers of a process share the runtime's tables, which it fills while it parses; it locks
/// writing to them and not reading (ATN::nextTokens() of 4.9).  So one parses at a time.
std::mutex& runtime_lock() {
  static std::mutex lock;
  return lock;
}

/// `read` is the source's text, or that with parts of it blanked out.
Parsed parse_text(std::shared_ptr<const engine::SourceText> source, std::string_view read,
                  const ParseLimits& limits) {
  const std::lock_guard lock(runtime_lock());
  const engine::SourceText& text = *source;
  Sink sink(std::move(source), limits.max_diagnostics);  // keeps `text` alive
  Parsed parsed;
  parsed.file = std::make_unique<RuleFile>();
  if (!is_readable(text, limits, sink)) {
    parsed.diagnostics = sink.take();
    return parsed;
  }
  unpack<RuleLexer>();
  unpack<RuleParser>();
  LexerScanner scanner(read);
  TaggedWords words = tag_words(scanner, limits.max_depth, sink);
  if (words.usable) {
    antlr4::ListTokenSource list(
        parser_tokens(words.tokens, static_cast<std::uint32_t>(text.text().size())));
    antlr4::CommonTokenStream stream(&list);
    RuleParser parser(&stream);
    parser.removeErrorListeners();
    parser.setErrorHandler(std::make_shared<RecoverAtWords>(sink));
    parser.getInterpreter<antlr4::atn::ParserATNSimulator>()->setPredictionMode(
        antlr4::atn::PredictionMode::SLL);  // LL(1): never asked, and LL could find no more
    parsed.file = build_tree(*parser.ruleFile(), sink);
  }
  parsed.tokens = std::move(words.tokens);
  parsed.diagnostics = sink.take();
  return parsed;
}

/// Words that begin an item, or its first word of two.
bool begins_item(std::string_view word) {
  constexpr std::array<std::string_view, 11> kWords = {"setting", "table",   "define", "rule",
                                                       "trial",   "example", "adjust", "regrade",
                                                       "mute",    "retire",  "extend"};
  return std::find(kWords.begin(), kWords.end(), word) != kWords.end();
}

/// The text with its examples blanked out; lines and columns stay.  Only what is plainly a line of
/// an example goes: one that begins with its words, or an indented one that goes on behind a comma.
std::string without_examples(std::string_view text) {
  std::string left(text);
  bool inside = false;
  bool goes_on = false;
  for (std::size_t at = 0; at < left.size();) {
    const std::size_t end = std::min(left.find('\n', at), left.size());
    std::string_view line = text.substr(at, end - at);
    const std::size_t first = line.find_first_not_of(" \t\r");
    line = first == std::string_view::npos ? std::string_view{} : line.substr(first);
    const std::string_view word = line.substr(0, line.find_first_of(" \t\"\r"));
    const bool opens = word == "example";
    const bool part = word == "order" || word == "earlier" || word == "expect";
    const bool nothing = line.empty() || line.front() == '#';
    const bool rest = goes_on && first != 0 && !begins_item(word);
    inside = opens || (inside && (part || nothing || rest));
    if (inside) {
      if (!nothing) goes_on = line.substr(0, line.find_last_not_of(" \t\r") + 1).ends_with(',');
      std::fill(left.begin() + static_cast<std::ptrdiff_t>(at),
                left.begin() + static_cast<std::ptrdiff_t>(end), ' ');
    }
    at = end + 1;
  }
  return left;
}

}  // namespace

std::vector<Token> raw_tokens(std::string_view text, bool plain) {
  const std::lock_guard lock(runtime_lock());
  unpack<RuleLexer>();
  return LexerScanner(text, plain).scan({0, static_cast<std::uint32_t>(text.size())});
}

Parsed parse(std::shared_ptr<const engine::SourceText> source, const ParseLimits& limits) {
  if (!limits.examples && source->text().size() <= limits.max_bytes) {
    const std::string read = without_examples(source->text());
    Parsed parsed = parse_text(source, read, limits);
    if (parsed.diagnostics.empty()) return parsed;
  }
  const std::string_view text = source->text();
  return parse_text(std::move(source), text, limits);
}

}  // namespace meniscus::grammar
