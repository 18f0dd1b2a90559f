// Contract: see milestones.hpp.
#include "adapters/fhir/milestones.hpp"

#include <algorithm>

#include "engine/base/utf8.hpp"

namespace meniscus::adapters::fhir {

void Milestones::start(const engine::RecordInfo& record, const TextWindow& window) {
  engine::Place place;
  set_text_position(record, window, {0, 1}, place);
  text_ = record.text;
  marks_.assign(1, {place.line, place.column - 1});
}

void Milestones::extend() {
  const std::string_view step = text_.substr((marks_.size() - 1) * kStep, kStep);
  Mark mark = marks_.back();
  mark.line += static_cast<std::uint64_t>(std::count(step.begin(), step.end(), '\n'));
  const std::size_t newline = step.rfind('\n');
  if (newline != std::string_view::npos) mark.characters = 0;
  mark.characters +=
      engine::count_characters(newline == std::string_view::npos ? step : step.substr(newline + 1));
  marks_.push_back(mark);
}

void Milestones::narrow(engine::RecordInfo& record, TextWindow& window, engine::Origin& origin) {
  if (origin.offset < 2 * kStep) return;
  if (record.text.data() != text_.data()) start(record, window);
  const std::size_t step = (origin.offset - kShown) / kStep;
  while (marks_.size() <= step)
    extend();
  const std::size_t begin = step * kStep;
  const std::size_t end = std::size_t{origin.offset} + origin.length + kShown;
  record.text = text_.substr(begin, end - begin);
  record.line = marks_[step].line;
  window = {record.text, marks_[step].characters};
  origin.offset -= static_cast<std::uint32_t>(begin);
}

}  // namespace meniscus::adapters::fhir
