// Texts by their bytes (contract: free_text_memo.hpp).
#include "engine/order/free_text_memo.hpp"

#include <string>

#include "engine/base/bytes_hash.hpp"
#include "engine/order/free_text.hpp"

namespace meniscus::engine {

struct FreeTextMemo::Entry {
  std::uint64_t hash = 0;
  TextRole role{};
  std::string text;
  std::string own;
  FreeText said;  // views into `text`
};

FreeTextMemo::FreeTextMemo() = default;
FreeTextMemo::~FreeTextMemo() = default;

FreeText FreeTextMemo::read(const ReadContext& context, std::string_view text, TextRole role,
                            std::string_view own) {
  if (text.size() > kLongest) return read_free_text(context, text, role, own);
  if (entries_.empty()) entries_.resize(kEntries);
  const std::uint64_t hash = bytes_hash(text);
  std::unique_ptr<Entry>& entry = entries_[hash >> 40U & (kEntries - 1)];
  if (entry == nullptr) entry = std::make_unique<Entry>();
  const bool other_own = entry->said.names_medicine && entry->own != own;
  if (entry->hash != hash || entry->role != role || entry->text != text || other_own) {
    entry->hash = hash;
    entry->role = role;
    entry->text = text;
    entry->own = own;
    entry->said = read_free_text(context, entry->text, role, own);
  }
  FreeText said = entry->said;
  said.move(entry->text, text);
  return said;
}

}  // namespace meniscus::engine
