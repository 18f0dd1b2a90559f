// The options of `meniscus replay`, read and checked.
#pragma once

#include <cstddef>
#include <cstdint>
#include <memory>
#include <string>
#include <vector>

#include "engine/base/result.hpp"

namespace CLI {  // NOLINT(readability-identifier-naming): CLI11's
class App;
}

namespace meniscus::adapters {

enum class ReplayTo : std::uint8_t { Text, Json, JsonLines, Csv, Sarif, Junit };

/// Of `meniscus replay`, `meniscus replay merge` and `meniscus replay labels`.
struct ReplayArguments {
  std::vector<std::string> against;  // rule files, beside the shipped set: what comes after
  std::vector<std::string> warm_up;  // files that are only remembered
  std::string report;                // path of the HTML report, or empty
  ReplayTo to = ReplayTo::Text;
  std::size_t threads = 0;  // 0: as many as the machine has
  std::size_t shard = 1;    // the part of the patients, from 1
  std::size_t shards = 1;
  std::string part;            // path to write the part to, or empty
  bool show_patients = false;  // their ids in examples
  double often = 0.1;          // a larger share of the judged orders is said
  std::size_t seed = 1;        // of the drawn examples
  std::size_t examples = 5;    // of a kind
  std::size_t sample = 0;      // orders drawn of a rule for readers, fired and silent ones each
  std::string labels;          // path of the table for the readers, or empty
  bool sort = false;           // without trying to stream first
  std::string work;            // folder to sort in and to go on from, or empty
};

/// Reads what CLI11 leaves as text.  Shared between the parser's parts while it parses.
class ReplayOptions {
 public:
  /// `into` outlives the parser.
  explicit ReplayOptions(ReplayArguments& into) : into_(into) {}
  void add_to(CLI::App& replay);
  void add_to_merge(CLI::App& merge);
  /// Errors: Usage, one sentence.
  [[nodiscard]] engine::Status check();

 private:
  void add_output(CLI::App& app);

  ReplayArguments& into_;
  std::string to_, threads_, shard_, often_, seed_, examples_, sample_;
};

}  // namespace meniscus::adapters
