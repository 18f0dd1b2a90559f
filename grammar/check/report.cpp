// Diagnostics in source order, up to a limit.
#include "grammar/check/report.hpp"

#include <algorithm>
#include <utility>

namespace meniscus::grammar {

using engine::Diagnostic;
using engine::Severity;

namespace {
constexpr std::string_view kOfWriting = "R01";
constexpr std::string_view kOfMeaning = "R02";
}  // namespace

SourceId Report::add_source(std::shared_ptr<const engine::SourceText> source) {
  sources_.push_back(std::move(source));
  return static_cast<SourceId>(sources_.size() - 1);
}

void Report::add(SourceId source, Mistake mistake) {
  Diagnostic diagnostic = diagnose(mistake.code, sources_[source], mistake.span,
                                   std::move(mistake.message), std::move(mistake.help));
  diagnostic.labels = std::move(mistake.labels);
  adopt(source, std::move(diagnostic));
}

std::string Report::place(SourceId source, engine::Span span) const {
  const engine::SourceText& text = *sources_[source];
  return text.name() + ":" + std::to_string(text.locate(span.begin).line);
}

void Report::adopt(SourceId source, Diagnostic diagnostic) {
  const std::pair line{source, sources_[source]->locate(diagnostic.span.begin).line};
  if (diagnostic.code.starts_with(kOfWriting)) misread_.insert(line);
  if (diagnostic.code.starts_with(kOfMeaning) && misread_.count(line) > 0) return;
  if (diagnostic.severity == Severity::Error) ++errors_;
  entries_.push_back({source, std::move(diagnostic)});
}

std::vector<Diagnostic> Report::take(std::size_t limit) {
  std::stable_sort(entries_.begin(), entries_.end(), [](const Entry& a, const Entry& b) {
    return std::pair(a.source, a.diagnostic.span.begin) <
           std::pair(b.source, b.diagnostic.span.begin);
  });
  std::vector<Diagnostic> result;
  result.reserve(std::min(entries_.size(), limit));
  for (Entry& entry : entries_) {
    if (result.size() == limit) break;
    result.push_back(std::move(entry.diagnostic));
  }
  if (entries_.size() > limit && !result.empty()) {
    Diagnostic& last = result.back();
    last = diagnose(Code::R0120, last.source, last.span,
                    std::to_string(entries_.size() - limit + 1) + " more are not shown",
                    "mend those above first");
  }
  entries_.clear();
  return result;
}

std::string quoted(std::string_view text) {
  std::string result;
  result.reserve(text.size() + 2);
  result += '`';
  result += text;
  result += '`';
  return result;
}

}  // namespace meniscus::grammar
