// Collects the diagnostics of one file, up to a limit.
#pragma once

#include <cstdint>
#include <memory>
#include <string>
#include <vector>

#include "engine/base/diagnostic.hpp"
#include "grammar/diagnostics.hpp"

namespace meniscus::grammar {

class Sink {
 public:
  Sink(std::shared_ptr<const engine::SourceText> source, std::uint32_t limit)
      : source_(std::move(source)), limit_(limit) {}

  /// The diagnostic just added, for a label; null when the limit is reached.
  engine::Diagnostic* report(Code code, engine::Span span, std::string message,
                             std::string help = {});
  /// As report(), but silent where another mistake stands on the same line: it is most likely a
  /// consequence of that one.
  engine::Diagnostic* report_unless_explained(Code code, engine::Span span, std::string message,
                                              std::string help = {});

  [[nodiscard]] const engine::SourceText& source() const { return *source_; }
  [[nodiscard]] std::string_view text(engine::Span span) const { return source_->slice(span); }
  /// Whether anything was reported inside `span`.
  [[nodiscard]] bool has_any_in(engine::Span span) const;
  [[nodiscard]] bool is_full() const { return full_; }

  /// In source order, with a note at the end when some were left out.
  std::vector<engine::Diagnostic> take();

 private:
  std::shared_ptr<const engine::SourceText> source_;  // shared with the diagnostics
  std::uint32_t limit_;
  bool full_ = false;
  std::vector<engine::Diagnostic> diagnostics_;
  std::vector<std::uint32_t> lines_;  // that have a diagnostic
};

}  // namespace meniscus::grammar
