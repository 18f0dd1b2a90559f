// Contract: see record_end.hpp.
#include "adapters/fhir/record_end.hpp"

#include <string>

#include "adapters/support/json_scan.hpp"

namespace meniscus::adapters::fhir {
namespace {

class Scan {
 public:
  explicit Scan(std::string_view text) : text_(text) {}

  ObjectEnd run() {
    for (; at_ < text_.size(); ++at_) {
      const char c = text_[at_];
      if (quoted_ ? breaks_string(c) : breaks_off(c)) return {ObjectEnd::Kind::Broken, at_};
      if (closed_) return {ObjectEnd::Kind::Complete, at_ + 1};
    }
    return {ObjectEnd::Kind::More, text_.size()};
  }

 private:
  bool breaks_string(char c) {
    if (c == '\\') ++at_;
    if (c == '"') quoted_ = false;
    return c == '\n';
  }

  bool breaks_off(char c) {
    if (c == '\n') {
      first_line_ = false;
      return at_ + 1 < text_.size() && text_[at_ + 1] == '{' && !may_continue();
    }
    if (is_json_space(c)) return false;
    if (first_line_ && at_ > 0) bare_ = false;
    before_ = c;
    if (c == '"') quoted_ = true;
    if (c == '{' || c == '[') open_ += c;
    if (c == '}' || c == ']') {
      if (!open_.empty()) open_.pop_back();
      closed_ = open_.empty();
    }
    return false;
  }

  /// What stands on the next line may belong to the record.
  [[nodiscard]] bool may_continue() const {
    if (bare_) return before_ == ':' || before_ == ',' || before_ == '[';
    if (open_.empty() || open_.back() != '[' || (before_ != ',' && before_ != '[')) return false;
    std::size_t at = at_ + 2;
    while (at < text_.size() && is_json_space(text_[at]))
      ++at;
    return !text_.substr(at).starts_with("\"resourceType\"");
  }

  std::string_view text_;
  std::string open_;  // the brackets that are open
  std::size_t at_ = 0;
  bool quoted_ = false;
  bool closed_ = false;
  bool bare_ = true;  // the first line is nothing but the brace
  bool first_line_ = true;
  char before_ = '\0';  // the last byte that is no space
};

}  // namespace

ObjectEnd record_end(std::string_view text) { return Scan(text).run(); }

}  // namespace meniscus::adapters::fhir
