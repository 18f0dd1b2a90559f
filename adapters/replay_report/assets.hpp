// The files that a report is put together from, as they were when the program was built.  They live
// as long as the program.
#pragma once

#include <string_view>

namespace meniscus::replay_report {

/// The page, with marks such as `<!--put style-->` where the others belong.
[[nodiscard]] std::string_view page_template();

[[nodiscard]] std::string_view style_sheet();

/// Our own script: the files of this folder one after another, in a function of their own.
[[nodiscard]] std::string_view report_script();

/// Chart.js and what its package says about its licence.
[[nodiscard]] std::string_view chart_script();
[[nodiscard]] std::string_view chart_licence();

}  // namespace meniscus::replay_report
