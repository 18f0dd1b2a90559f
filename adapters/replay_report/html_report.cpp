// Puts the page together: each mark of the template is replaced by what it names, in one pass, so
// that nothing that was put in is looked at again.
#include "adapters/replay_report/html_report.hpp"

#include <openssl/evp.h>

#include <array>
#include <cstddef>

#include "adapters/replay_report/assets.hpp"

namespace meniscus::replay_report {

namespace {

/// A source of a Content-Security-Policy: the hash of an inline element's text (W3C, Content
/// Security Policy Level 3, section 2.3.1, hash-source).
std::string hash_source(std::string_view text) {
  std::array<unsigned char, EVP_MAX_MD_SIZE> digest{};
  unsigned int size = 0;
  if (EVP_Digest(text.data(), text.size(), digest.data(), &size, EVP_sha256(), nullptr) != 1) {
    return "'none'";  // the page then says that its script was not let run; it never runs without a
                      // policy
  }
  std::array<unsigned char, std::size_t{2} * EVP_MAX_MD_SIZE> base64{};
  const int length = EVP_EncodeBlock(base64.data(), digest.data(), static_cast<int>(size));
  std::string source = "'sha256-";
  source.append(base64.begin(), base64.begin() + length);
  return source + "'";
}

std::string policy() {
  return "default-src 'none'; script-src " + hash_source(chart_script()) + " " +
         hash_source(report_script()) + "; style-src " + hash_source(style_sheet()) +
         "; base-uri 'none'; form-action 'none'; require-trusted-types-for 'script'";
}

std::string as_text(std::string_view plain) {
  std::string html;
  for (const char character : plain) {
    switch (character) {
      case '<':
        html += "&lt;";
        break;
      case '>':
        html += "&gt;";
        break;
      case '&':
        html += "&amp;";
        break;
      default:
        html += character;
    }
  }
  return html;
}

/// What belongs where the page says `<!--put NAME-->`.
std::string part(std::string_view name, std::string_view summary_json) {
  if (name == "policy") return policy();
  if (name == "style") return std::string(style_sheet());
  if (name == "summary") return inside_script(summary_json);
  if (name == "chart") return std::string(chart_script());
  if (name == "script") return std::string(report_script());
  if (name == "licence") return as_text(chart_licence());
  return {};
}

}  // namespace

std::string inside_script(std::string_view json) {
  std::string safe;
  safe.reserve(json.size() + json.size() / 16);
  for (const char character : json) {
    switch (character) {
      case '<':
        safe += "\\u003c";
        break;
      case '>':
        safe += "\\u003e";
        break;
      case '&':
        safe += "\\u0026";
        break;
      default:
        safe += character;
    }
  }
  return safe;
}

std::string html_report(std::string_view summary_json) {
  constexpr std::string_view opening = "<!--put ";
  constexpr std::string_view closing = "-->";
  std::string html;
  std::string_view rest = page_template();
  for (auto at = rest.find(opening); at != std::string_view::npos; at = rest.find(opening)) {
    html += rest.substr(0, at);
    rest.remove_prefix(at + opening.size());
    const auto end = rest.find(closing);
    html += part(rest.substr(0, end), summary_json);
    rest.remove_prefix(end + closing.size());
  }
  html += rest;
  return html;
}

}  // namespace meniscus::replay_report
