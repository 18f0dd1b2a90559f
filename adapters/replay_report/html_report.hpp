// What a replay found, as one HTML file for people who are not programmers.
//
// The file needs no network and no other file: the summary, the style, the script and the chart
// library are inside. It runs under a Content-Security-Policy that lets nothing run but the two
// scripts put here, each named by its SHA-256; the texts of the summary are data, whatever they
// hold.
#pragma once

#include <string>
#include <string_view>

namespace meniscus::replay_report {

/// `summary_json` is the summary of `meniscus replay --to json`, UTF-8.  What is no such summary is
/// still put into the page, which then says that it cannot be read.
[[nodiscard]] std::string html_report(std::string_view summary_json);

/// JSON that may stand inside a script element: it means the same, and no text in it can end the
/// element or open a comment, since `<`, `>` and `&` (in JSON they stand in strings only) are
/// written as `\u003c` and so on.
[[nodiscard]] std::string inside_script(std::string_view json);

}  // namespace meniscus::replay_report
