// Collects what is wrong with a rule set, over all of its files.
//
// Sources:  rule files and tables register their text once; a SourceId names one.
// Order:    take() gives the diagnostics in source order: files as they were registered, then by
//           place.
// Limit:    at most `limit` are given; the last one then says how many were left out.
#pragma once

#include <cstdint>
#include <memory>
#include <set>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "engine/base/diagnostic.hpp"
#include "engine/base/source_text.hpp"
#include "grammar/diagnostics.hpp"

namespace meniscus::grammar {

using SourceId = std::uint32_t;

/// What to say about one mistake.
struct Mistake {
  Code code{};
  engine::Span span;
  std::string message;
  std::vector<engine::Label> labels;
  std::string help;
};

class Report {
 public:
  SourceId add_source(std::shared_ptr<const engine::SourceText> source);
  [[nodiscard]] const std::shared_ptr<const engine::SourceText>& source(SourceId id) const {
    return sources_[id];
  }

  void add(SourceId source, Mistake mistake);
  /// `file:line` of a place, for messages about two files.
  [[nodiscard]] std::string place(SourceId source, engine::Span span) const;
  /// Takes over a diagnostic of another stage; its source must be one of ours.  What names or
  /// dimensions seem wrong on a line with a mistake in its writing follows from that: it is
  /// dropped.
  void adopt(SourceId source, engine::Diagnostic diagnostic);

  [[nodiscard]] bool has_errors() const { return errors_ > 0; }
  [[nodiscard]] std::vector<engine::Diagnostic> take(std::size_t limit);

 private:
  struct Entry {
    SourceId source = 0;
    engine::Diagnostic diagnostic;
  };
  std::vector<std::shared_ptr<const engine::SourceText>> sources_;
  std::vector<Entry> entries_;
  std::set<std::pair<SourceId, std::uint32_t>> misread_;  // lines with a mistake in their writing
  std::size_t errors_ = 0;
};

/// `text` in backticks.
std::string quoted(std::string_view text);

}  // namespace meniscus::grammar
