// The assembler puts the files into the program; nothing is read when it runs.
// adapters/CMakeLists.txt says where they are (MENISCUS_REPORT_FILES, MENISCUS_CHART_SCRIPT,
// MENISCUS_CHART_LICENCE) and builds this anew when one of them changes.
#include "adapters/replay_report/assets.hpp"

#include <cstddef>

asm(R"(
    .pushsection .rodata, "a"
    .hidden kMeniscusReportPage, kMeniscusReportStyle, kMeniscusReportScript
    .hidden kMeniscusReportChart, kMeniscusReportLicence, kMeniscusReportEnd
    .global kMeniscusReportPage, kMeniscusReportStyle, kMeniscusReportScript
    .global kMeniscusReportChart, kMeniscusReportLicence, kMeniscusReportEnd
kMeniscusReportPage:
    .incbin ")" MENISCUS_REPORT_FILES R"(/page.html"
kMeniscusReportStyle:
    .incbin ")" MENISCUS_REPORT_FILES R"(/report.css"
kMeniscusReportScript:
    .ascii "(() => {\n\"use strict\";\n"
    .incbin ")" MENISCUS_REPORT_FILES R"(/words.js"
    .incbin ")" MENISCUS_REPORT_FILES R"(/elements.js"
    .incbin ")" MENISCUS_REPORT_FILES R"(/tables.js"
    .incbin ")" MENISCUS_REPORT_FILES R"(/patterns.js"
    .incbin ")" MENISCUS_REPORT_FILES R"(/charts.js"
    .incbin ")" MENISCUS_REPORT_FILES R"(/overview.js"
    .incbin ")" MENISCUS_REPORT_FILES R"(/signals.js"
    .incbin ")" MENISCUS_REPORT_FILES R"(/comparison.js"
    .incbin ")" MENISCUS_REPORT_FILES R"(/months.js"
    .incbin ")" MENISCUS_REPORT_FILES R"(/examples.js"
    .incbin ")" MENISCUS_REPORT_FILES R"(/rules.js"
    .incbin ")" MENISCUS_REPORT_FILES R"(/rule_section.js"
    .incbin ")" MENISCUS_REPORT_FILES R"(/start.js"
    .ascii "})();\n"
kMeniscusReportChart:
    .incbin ")" MENISCUS_CHART_SCRIPT R"("
kMeniscusReportLicence:
    .incbin ")" MENISCUS_CHART_LICENCE R"("
kMeniscusReportEnd:
    .byte 0
    .popsection
)");

extern "C" {
extern const char kMeniscusReportPage[];
extern const char kMeniscusReportStyle[];
extern const char kMeniscusReportScript[];
extern const char kMeniscusReportChart[];
extern const char kMeniscusReportLicence[];
extern const char kMeniscusReportEnd[];
}

namespace meniscus::replay_report {

namespace {

std::string_view between(const char* begin, const char* end) {
  return {begin, static_cast<std::size_t>(end - begin)};
}

}  // namespace

std::string_view page_template() { return between(kMeniscusReportPage, kMeniscusReportStyle); }

std::string_view style_sheet() { return between(kMeniscusReportStyle, kMeniscusReportScript); }

std::string_view report_script() { return between(kMeniscusReportScript, kMeniscusReportChart); }

std::string_view chart_script() { return between(kMeniscusReportChart, kMeniscusReportLicence); }

std::string_view chart_licence() { return between(kMeniscusReportLicence, kMeniscusReportEnd); }

}  // namespace meniscus::replay_report
