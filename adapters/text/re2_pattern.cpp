// RE2 behind the engine's interface (contract: re2_pattern.hpp).
#include "adapters/text/re2_pattern.hpp"

#include <re2/re2.h>

namespace meniscus::adapters {
namespace {

constexpr std::int64_t kMostMemory = std::int64_t{1} << 20U;

class Re2Pattern : public engine::Pattern {
 public:
  explicit Re2Pattern(const std::string& pattern) : regex_(pattern, options()) {}

  [[nodiscard]] bool found_in(std::string_view text) const override {
    return RE2::PartialMatch(re2::StringPiece(text.data(), text.size()), regex_);
  }
  [[nodiscard]] bool ok() const { return regex_.ok(); }
  [[nodiscard]] const std::string& error() const { return regex_.error(); }

 private:
  static RE2::Options options() {
    RE2::Options options(RE2::Quiet);  // never prints
    options.set_max_mem(kMostMemory);
    return options;
  }
  RE2 regex_;
};

}  // namespace

engine::PatternCompiler re2_patterns() {
  return [](const std::string& text) -> engine::Result<std::shared_ptr<const engine::Pattern>> {
    auto pattern = std::make_shared<const Re2Pattern>(text);
    if (!pattern->ok())
      return engine::Error{engine::Errc::Syntax, pattern->error(), 0,
                           static_cast<std::uint32_t>(text.size())};
    return std::shared_ptr<const engine::Pattern>(std::move(pattern));
  };
}

}  // namespace meniscus::adapters
