// The report as a file: what is embedded means the same, cannot run, and nothing is fetched from
// anywhere.  What it shows is looked at with a browser in tests/interop/report.
#include "adapters/replay_report/html_report.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cctype>
#include <nlohmann/json.hpp>
#include <string>
#include <string_view>

#include "adapters/replay_report/assets.hpp"

namespace meniscus::replay_report {
namespace {

using nlohmann::json;

constexpr std::string_view opening = R"(<script type="application/json" id="summary">)";
constexpr std::string_view closing = "</script>";

// Texts that would end a script element, change how its rest is read, or run where markup is made
// of them: WHATWG, HTML, "Restrictions for contents of script elements".
json hostile() {
  return {{"a", "</script><script>alert(1)</script>"},
          {"b", "<!--<script>"},
          {"c", "</SCRIPT ><img src=x onerror=alert(1)>"},
          {"d", "--> ]]> &lt;/script&gt; \\u003c"},
          {"e", "\" ' ` \\ / \n \t \x7f"},
          {"f", "\u202e\u2066 \u2028 \u2029 \u05d0 \U0001f489"},
          {"<key>", {1, -2.5, true, nullptr, {{"</script>", "<!--put script-->"}}}}};
}

std::string embedded(const std::string& html) {
  const auto begin = html.find(opening) + opening.size();
  return html.substr(begin, html.find(closing, begin) - begin);
}

std::size_t times(std::string_view text, std::string_view part) {
  std::size_t found = 0;
  for (auto at = text.find(part); at != std::string_view::npos; at = text.find(part, at + 1)) {
    ++found;
  }
  return found;
}

std::string lower(std::string text) {
  std::transform(text.begin(), text.end(), text.begin(), [](unsigned char character) {
    return static_cast<char>(std::tolower(character));
  });
  return text;
}

/// `text` without every occurrence of `part`.
std::string without(std::string text, std::string_view part) {
  for (auto at = text.find(part); at != std::string::npos; at = text.find(part)) {
    text.erase(at, part.size());
  }
  return text;
}

/// A script without its comments that are kept for their licence: `/*! ... */`.
std::string without_licences(std::string script) {
  for (auto at = script.find("/*!"); at != std::string::npos; at = script.find("/*!")) {
    script.erase(at, script.find("*/", at) + 2 - at);
  }
  return script;
}

TEST(InsideScript, TheJsonMeansTheSame) {
  const std::string text = hostile().dump();
  EXPECT_EQ(json::parse(inside_script(text)), hostile());
  EXPECT_EQ(inside_script(R"({"a": [1, "b"]})"), R"({"a": [1, "b"]})");
}

TEST(InsideScript, NoSignThatMarkupBeginsOrEndsWithIsLeft) {
  EXPECT_EQ(inside_script(R"("</script>")"), R"("\u003c/script\u003e")");
  EXPECT_EQ(inside_script(hostile().dump()).find_first_of("<>&"), std::string::npos);
}

TEST(HtmlReport, TheSummaryIsThereAndEqual) {
  EXPECT_EQ(json::parse(embedded(html_report(hostile().dump()))), hostile());
  EXPECT_EQ(json::parse(embedded(html_report(R"({"replay": 1})"))), (json{{"replay", 1}}));
}

TEST(HtmlReport, HasThreeScriptsWhateverTheSummaryHolds) {
  for (const std::string& summary :
       {hostile().dump(), std::string("{}"), std::string("</script><script>")}) {
    const std::string html = lower(html_report(summary));
    EXPECT_EQ(times(html, "<script"), 3U);
    EXPECT_EQ(times(html, "</script"), 3U);
  }
}

// "<!--" followed by "<script" would change where a script ends; neither library nor script of ours
// has one.
TEST(HtmlReport, EveryPlaceIsFilledAndNoCommentIsOpen) {
  const std::string html = html_report(hostile().dump());
  EXPECT_EQ(times(html, "<!--"), 0U);
  EXPECT_TRUE(html.starts_with("<!DOCTYPE html>"));
  EXPECT_TRUE(html.ends_with("</html>\n"));
  for (const auto part : {style_sheet(), chart_script(), report_script()}) {
    EXPECT_GT(part.size(), 1000U);
    EXPECT_EQ(times(html, part), 1U);
  }
}

TEST(HtmlReport, TakesNothingFromAnywhere) {
  std::string html = html_report("{}");
  html = without(html, chart_script());
  html.erase(html.find("<pre>"), html.find("</pre>") - html.find("<pre>"));  // the licence
  EXPECT_NE(html.find("</html>"), std::string::npos);
  for (const char* reference :
       {"http:", "https:", "url(", "@import", "<link", "<img", "<iframe", "src="}) {
    EXPECT_EQ(times(lower(html), reference), 0U) << reference;
  }
  const std::string library = without_licences(std::string(chart_script()));
  EXPECT_GT(library.size(), 100000U);
  EXPECT_EQ(times(library, "http:") + times(library, "https:"), 0U);
}

TEST(HtmlReport, ThePolicyAllowsTwoScriptsAndOneStyleByTheirHash) {
  const std::string html = html_report("{}");
  const auto begin = html.find("Content-Security-Policy");
  const std::string policy = html.substr(begin, html.find('>', begin) - begin);
  EXPECT_NE(policy.find("default-src 'none'; script-src 'sha256-"), std::string::npos);
  EXPECT_EQ(times(policy, "'sha256-"), 3U);
  EXPECT_EQ(times(policy, "unsafe"), 0U);
  EXPECT_LT(begin, html.find("<style>"));
}

TEST(HtmlReport, CarriesTheLicenceOfTheLibrary) {
  const std::string html = html_report("{}");
  EXPECT_NE(html.find("Permission is hereby granted, free of charge"), std::string::npos);
  EXPECT_NE(html.find("Chart.js Contributors"), std::string::npos);
}

}  // namespace
}  // namespace meniscus::replay_report
