// Contract: see lines_writer.hpp.
#include "adapters/report/lines_writer.hpp"

#include "adapters/report/data_items.hpp"

namespace meniscus::adapters {

void LinesWriter::begin_input(std::string_view name) { file_ = settled_name(name); }

void LinesWriter::write(const engine::Verdict& verdict, const engine::OrderBlock& block,
                        const engine::OrderSource& source) {
  for (const DataItem& item : items_of(verdict, block, source, file_)) {
    if (item.suppressed.empty()) append_item_line(output_.text(), file_, item);
  }
  output_.piece_done();
}

void LinesWriter::never_assessed(const std::vector<engine::NotAssessed>& missing) {
  for (const engine::NotAssessed& entry : missing) {
    DataItem item;
    item.rule = kNotAssessed;
    item.grade = "note";
    item.message = "in no order of this input: " + never_carried_sentence(entry);
    append_item_line(output_.text(), file_, item);
  }
  output_.piece_done();
}

}  // namespace meniscus::adapters
