// What directions say of something else than the order's own dose.  Private to engine/order; see
// free_text.hpp.
//
// Finds:   a clause that names another medicine (`folic acid 1 mg daily`, `with warfarin 5 mg by
//          mouth`, `until oral anticoagulant is started`), says what was before (`previously 0.2
//          mL`, `increase from 40 mg`) or how the dose is to change later (`titrate by 2 units`).
// Never:   takes a clause of the order's own medicine for one.  The name of another injection at
//          the head of the text is none either: it may be the order that was meant.
// Ends:    with the sentence, at a semicolon, at `inject` or `give`, at the order's own medicine,
//          and at an amount right behind a comma.
#pragma once

#include <cstddef>
#include <string_view>

#include "engine/order/interval_text.hpp"
#include "engine/order/value_text.hpp"

namespace meniscus::engine {

class AsideText {
 public:
  /// `own`: the code of the order's medicine, or its name; may be empty.  All must outlive this.
  AsideText(const ReadContext& context, std::string_view text, const Tokens& tokens,
            std::string_view own)
      : context_(context), text_(text), t_(tokens), own_(own) {}

  /// The token behind the aside that starts at `at`; 0 when none does.  `said`: something of the
  /// order has been read before.
  [[nodiscard]] std::size_t end(std::size_t at, bool said);
  /// The amount whose unit is token `unit` is of another medicine or of what this one is dissolved
  /// in: `1 mg folic acid`, `2.1 mL of 1 % lidocaine`, `lidocaine 10 mg/mL`; `first` is the first
  /// token of its number, `said` as for end().
  [[nodiscard]] bool is_of_another(std::size_t first, std::size_t unit, bool said);
  /// `after the 80 mg`, `(was 40 mg)`, `instead of 100 mg`: what was given before.
  [[nodiscard]] bool is_before(std::size_t first, std::size_t unit, bool said) const;
  /// `increase to 40 mg`: what the dose becomes later, when one was said before.
  [[nodiscard]] bool is_later(std::size_t first) const;
  /// A medicine was named, so that what was read depends on `own`.
  [[nodiscard]] bool names_medicine() const { return names_medicine_; }
  /// A full stop with a blank behind it, or a semicolon, follows the token.
  [[nodiscard]] bool ends_sentence(std::size_t at) const;

 private:
  enum class Whose { Nobody, Own, Companion, Injection };
  struct Name {
    Whose whose = Whose::Nobody;
    std::size_t tokens = 0;
  };
  Name name_at(std::size_t at);
  [[nodiscard]] bool is_own(std::string_view name) const;
  [[nodiscard]] bool is_diluent(std::size_t at);
  [[nodiscard]] bool follows_diluent(std::size_t first);
  [[nodiscard]] bool is_swallowed(std::size_t at) const;
  [[nodiscard]] std::size_t named(std::size_t at, bool said);
  [[nodiscard]] std::size_t oral(std::size_t at);
  [[nodiscard]] std::size_t change(std::size_t at, bool said) const;
  [[nodiscard]] std::size_t clause_end(std::size_t lead, std::size_t from,
                                       bool until_then = false) const;
  [[nodiscard]] std::size_t companion_at(std::size_t at) const;
  [[nodiscard]] std::size_t insulin_at(std::size_t at) const;
  [[nodiscard]] bool is_in_brackets(std::size_t at) const;
  [[nodiscard]] bool is_own_again(std::size_t at) const;
  /// What stands between the token and the next one.
  [[nodiscard]] std::string_view gap(std::size_t at) const;

  const ReadContext& context_;
  std::string_view text_;
  const Tokens& t_;
  std::string_view own_;
  bool names_medicine_ = false;
};

}  // namespace meniscus::engine
