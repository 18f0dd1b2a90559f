// Lines of words for a report.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>

namespace meniscus::adapters {

inline constexpr std::size_t kReportWidth = 100;  // characters

/// Characters (UTF-8 sequences) in `text`.
std::size_t characters(std::string_view text);

/// Appends `text` word by word and ends the line.  `column` is where the text starts; following
/// lines start at `indent`.  A word longer than a line stands alone.  Control characters become
/// blanks.
void append_wrapped(std::string& out, std::string_view text, std::size_t column,
                    std::size_t indent);
/// A line of its own at `indent`; what does not fit goes on two columns further in.
void append_line(std::string& out, std::size_t indent, std::string_view text);

}  // namespace meniscus::adapters
