// Contract: see inputs.hpp.
#include "adapters/cli/inputs.hpp"

#include <filesystem>
#include <system_error>
#include <utility>

#include "adapters/input/byte_sources.hpp"
#include "adapters/input/compressed_bytes.hpp"

namespace meniscus::adapters {

Format format_of(FromFormat from) {
  switch (from) {
    case FromFormat::Auto:
      return Format::Auto;
    case FromFormat::Json:
    case FromFormat::Ndjson:  // the same reader: objects one after another
      return Format::Json;
    case FromFormat::Csv:
      return Format::Csv;
    case FromFormat::Hl7:
      return Format::Hl7;
    case FromFormat::Fhir:
      return Format::Fhir;
  }
  return Format::Auto;
}

namespace {
/// Files that need not be opened to see that nothing is in them.
std::string why_not(const std::string& name) {
  std::error_code problem;
  const auto status = std::filesystem::status(name, problem);
  if (std::filesystem::is_directory(status)) return "it is a folder; name the files in it";
  if (std::filesystem::is_regular_file(status) && std::filesystem::file_size(name, problem) == 0) {
    return "it is empty";
  }
  return {};
}
}  // namespace

engine::Result<OpenedInput> open_named(const std::string& name, FromFormat format,
                                       std::uint32_t file) {
  if (name != "-") {
    const std::string why = why_not(name);
    if (!why.empty()) {
      return engine::Error{engine::Errc::Input, "cannot read " + name + ": " + why, 0, 0};
    }
  }
  return open_formatted(name, format_of(format), file);
}

engine::Result<OpenedOrders> open_input(const std::string& name, FromFormat format,
                                        std::uint32_t file, const engine::ReadContext& context) {
  auto named = open_named(name, format, file);
  if (!named) return named.error();
  return open_orders(std::move(named->input), named->format, context);
}

bool is_large_file(const std::string& name) {
  constexpr std::uintmax_t kSmall = std::uintmax_t{64} << 10U;  // even when it unpacks to more
  std::error_code problem;
  return std::filesystem::is_regular_file(name, problem) &&
         std::filesystem::file_size(name, problem) >= kSmall;
}

std::unique_ptr<JsonLines> open_lines(const std::string& name, FromFormat format,
                                      unsigned threads) {
  const Format wanted = format_of(format);
  if (threads < 2 || (wanted != Format::Auto && wanted != Format::Json)) return nullptr;
  // What is no file can be read once only, and it is looked at here.
  if (!is_large_file(name)) return nullptr;
  auto bytes = open_bytes(name);
  if (!bytes) return nullptr;
  auto lines = std::make_unique<JsonLines>(unpacked_bytes(std::move(*bytes), name));
  return lines->worth_it() ? std::move(lines) : nullptr;
}

std::optional<std::unique_ptr<KeptHistory>> open_history(const Arguments& arguments,
                                                         const Console& console) {
  if (arguments.history.empty()) return nullptr;
  auto opened = KeptHistory::open(arguments.history);
  if (opened) return std::move(*opened);
  console.complain(opened.error().message);
  return std::nullopt;
}

std::optional<std::unique_ptr<Quarantine>> open_quarantine(const Arguments& arguments,
                                                           const Console& console) {
  if (arguments.quarantine.empty()) return nullptr;
  auto opened = Quarantine::open(arguments.quarantine);
  if (opened) return std::move(*opened);
  console.complain(opened.error().message);
  return std::nullopt;
}

engine::CheckOptions check_options(const Arguments& arguments, const Console& console,
                                   const engine::Feed& feed, const engine::OrderSource& source) {
  engine::CheckOptions options;
  options.today = console.today;
  options.as_of = arguments.as_of;
  options.slips = false;
  options.never_carries = feed.never_carries | source.never_carries();
  return options;
}

}  // namespace meniscus::adapters
