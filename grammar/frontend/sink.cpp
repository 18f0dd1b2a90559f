// See sink.hpp.
#include "grammar/frontend/sink.hpp"

#include <algorithm>
#include <utility>

namespace meniscus::grammar {

engine::Diagnostic* Sink::report(Code code, engine::Span span, std::string message,
                                 std::string help) {
  if (diagnostics_.size() >= limit_) {
    full_ = true;
    return nullptr;
  }
  lines_.push_back(source_->locate(span.begin).line);
  diagnostics_.push_back(diagnose(code, source_, span, std::move(message), std::move(help)));
  return &diagnostics_.back();
}

engine::Diagnostic* Sink::report_unless_explained(Code code, engine::Span span, std::string message,
                                                  std::string help) {
  const std::uint32_t line = source_->locate(span.begin).line;
  if (std::find(lines_.begin(), lines_.end(), line) != lines_.end()) return nullptr;
  return report(code, span, std::move(message), std::move(help));
}

bool Sink::has_any_in(engine::Span span) const {
  return std::any_of(diagnostics_.begin(), diagnostics_.end(), [span](const auto& d) {
    return d.span.begin >= span.begin && d.span.begin < span.end;
  });
}

std::vector<engine::Diagnostic> Sink::take() {
  std::stable_sort(diagnostics_.begin(), diagnostics_.end(),
                   [](const engine::Diagnostic& a, const engine::Diagnostic& b) {
                     return a.span.begin < b.span.begin;
                   });
  if (full_) {
    const auto end = static_cast<std::uint32_t>(source_->text().size());
    diagnostics_.push_back(diagnose(Code::R0120, source_, {end, end},
                                    "there are more mistakes than are shown here",
                                    "mend the first ones and try again"));
  }
  return std::move(diagnostics_);
}

}  // namespace meniscus::grammar
