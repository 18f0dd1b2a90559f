// A rule file as its readers see it: the words of each rule's parts, and what stands in comments.
//
// Takes:   the source of rules that compile; nothing is checked here (grammar/ does that).
// For:     pages about rules.  A compiled program has the meaning, not the words of a condition.
#pragma once

#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace meniscus::adapters {

struct ClauseText {
  std::string grade;
  std::string when;
  std::string say;  // with its quotes taken off
  std::string ask;
  std::string blames;
};
struct WithoutText {
  std::string fields;
  std::string grade;  // empty: ignored
  std::string say;
  std::string ask;
};
struct RuleText {
  std::string dates;                                      // "from 2026-03-01 until 2026-12-31"
  std::string concerns;                                   // "all orders", "orders where ..."
  std::vector<std::pair<std::string, std::string>> lets;  // name, expression
  std::vector<ClauseText> clauses;
  std::vector<WithoutText> withouts;
};
/// The parts of one rule; line breaks and comments within a part become blanks.
RuleText split_rule(std::string_view source);

/// A comment and the lines under it, up to the next blank line or comment.
struct Paragraph {
  std::string comment;             // without its marks; empty when there is none
  std::vector<std::string> lines;  // each with the lines that continue it
};
/// The settings, tables and definitions of a file, as they stand.
std::vector<Paragraph> paragraphs(std::string_view source);

}  // namespace meniscus::adapters
