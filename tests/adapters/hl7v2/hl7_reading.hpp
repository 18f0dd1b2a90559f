// What the reader tests share: a source over a text, and its lanes as plain summaries.
#pragma once

#include <fstream>
#include <iterator>
#include <map>
#include <memory>
#include <string>
#include <vector>

#include "adapters/hl7v2/hl7_source.hpp"
#include "tests/support/table_vocabularies.hpp"
#include "tests/support/text_input.hpp"

namespace meniscus::testing {

inline const engine::Program& shipped_words() {
  static const std::unique_ptr<const engine::Program> kProgram = [] {
    auto made = std::make_unique<engine::Program>();
    load_vocabularies(MENISCUS_SOURCE_DIR "/rules", *made);
    return made;
  }();
  return *kProgram;
}

struct Field {
  std::string written;
  std::string at;
  double number = 0;
  std::string text;
  engine::State state = engine::State::Missing;
  bool from_text = false;
  friend bool operator==(const Field&, const Field&) = default;
};

struct Record {
  engine::RecordKind kind{};
  std::string reason;
  std::string at;
  std::uint64_t line = 0;
  std::map<std::string, Field> fields;
  std::map<std::string, std::string> doubts;  // field to reason
  friend bool operator==(const Record&, const Record&) = default;

  [[nodiscard]] Field field(const std::string& name) const {
    const auto found = fields.find(name);
    return found == fields.end() ? Field{} : found->second;
  }
};

inline Record record_of(const engine::OrderBlock& block, unsigned lane,
                        const adapters::hl7v2::Hl7Source& source) {
  Record out;
  out.kind = block.record(lane).kind;
  out.reason = block.record(lane).reason;
  const engine::Place place = source.record_place(block, lane);
  out.at = place.at;
  out.line = place.line;
  for (const engine::FieldInfo& info : engine::fields()) {
    if ((block.column(info.id).present >> lane & 1U) == 0) continue;
    Field& f = out.fields[std::string(info.name)];
    const engine::Value value = block.value(lane, info.id);
    f.written = block.written(lane, info.id);
    f.at = source.place(block, lane, info.id, block.origin(lane, info.id)).at;
    f.state = value.state;
    f.number = value.known() ? value.number : 0;
    f.text = value.known() ? std::string(value.text) : std::string();
    f.from_text = block.from_text(lane, info.id);
  }
  for (const engine::Doubt& doubt : block.doubts())
    if (doubt.lane == lane) out.doubts[std::string(engine::info(doubt.field).name)] = doubt.reason;
  return out;
}

inline std::vector<Record> read_hl7(const std::string& text, std::size_t piece = 1U << 20U,
                                    const engine::Feed& feed = {}) {
  const engine::ReadContext context{&shipped_words(), &feed};
  adapters::hl7v2::Hl7Source source(text_input(text, piece), context);
  engine::OrderBlock block;
  std::vector<Record> records;
  while (source.next(block))
    for (unsigned lane = 0; lane < block.size(); ++lane)
      records.push_back(record_of(block, lane, source));
  return records;
}

inline std::string sample(const std::string& name) {
  std::ifstream file(std::string(MENISCUS_SOURCE_DIR "/tests/fixtures/hl7/") + name,
                     std::ios::binary);
  return {std::istreambuf_iterator<char>(file), std::istreambuf_iterator<char>()};
}

}  // namespace meniscus::testing
