// Text of one value -> Value, by the field that it is read as.  Readers of formats use
// field_text.hpp, and of this only what a date may be.
//
// Reads:   no more than one value; ranges, interval words and lists are field_text's business.
// Errors:  those of the quantity and date parsers, and OutOfRange for what no order can mean (a
//          negative volume, a count that is not whole).
#pragma once

#include <string>
#include <string_view>

#include "engine/base/result.hpp"
#include "engine/order/field_text.hpp"

namespace meniscus::engine {

std::string_view trimmed(std::string_view text);
/// `text` with the blanks that Unicode has beside the usual one (the one that does not break, thin
/// ones) as usual ones, byte for byte as long as before: `text` itself, or a view into `buffer`.
/// Web pages and word processors put them between a number and its unit.
std::string_view with_plain_blanks(std::string_view text, std::string& buffer);
/// ASCII letters compare without case.
bool same_letters(std::string_view a, std::string_view b);

/// `text` read as `field`.  The Value's text is a view into `text`, the program or the feed.
Result<Value> read_value(const ReadContext& context, FieldId field, std::string_view text);

/// The word that `text` is for `field`: the feed's translation, then the vocabulary.  One that no
/// row knows has the hash of its text for a Code and kNoWord otherwise.
Value read_word(const ReadContext& context, FieldId field, std::string_view text);

/// How quantities of this feed are written.
QuantityStyle style_of(const ReadContext& context, FieldId field);

/// `text` with the feed's own spelling of its unit replaced by ours.  The result is `text` itself
/// or a view into `buffer`.
std::string_view with_our_unit(const ReadContext& context, std::string_view text,
                               std::string& buffer);

/// What an order may mean by a value of `field`: the right dimension, above zero.
Status check_quantity(FieldId field, const AnyQuantity& quantity, std::string_view text);

/// Where `field` takes a date that is given as a month or a year for the last day of it: printed
/// expiry, and the last day of an order.
bool runs_to_month_end(FieldId field);
/// What is counted from to the day (the last dose, the first day, the opening of a vial, the
/// ordering) needs a day: the first of the month would make a dose of last week one of last month.
Status check_day(FieldId field, const Date& date, std::string_view text);

/// The field that says how a part of a list's item is read.
FieldId field_of(ItemField part);

/// The item list of `items` set as the value of a list field; none when it is empty.
void set_items(OrderBlock& block, unsigned lane, FieldId field, const std::vector<ListItem>& items,
               std::string_view written, Origin origin);

}  // namespace meniscus::engine
