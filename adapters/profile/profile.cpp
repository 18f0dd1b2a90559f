// Reading and checking a feed profile (contract: profile.hpp).
#include "adapters/profile/profile.hpp"

#include <array>
#include <fstream>
#include <iterator>
#include <nlohmann/json.hpp>
#include <utility>

#include "adapters/support/json_scan.hpp"
#include "adapters/support/near_name.hpp"
#include "engine/quantity/quantity.hpp"

namespace meniscus::adapters {
namespace {

using engine::Feed;
using engine::FieldId;
using engine::FieldKind;
using Json = nlohmann::json;

constexpr std::array<std::string_view, 8> kKeys = {
    "name", "decimal", "date-order", "time-zone", "never-carries", "ignore", "hl7", "translate"};
constexpr std::array<std::string_view, 5> kPlaceKeys = {"field", "segment", "field-number",
                                                        "component", "observation"};
constexpr int kLargestOffset = 14 * 60;  // minutes
constexpr int kMostFields = 500;         // of an HL7 segment

bool is_comment(std::string_view key) { return key.starts_with("_") || key == "$schema"; }

class Reader {
 public:
  Reader(std::string_view text, const engine::Program* program) : text_(text), program_(program) {}

  ReadProfile run() {
    if (const auto problem = json_problem(text_)) {
      say_at(problem->offset, "this is no JSON: " + problem->message, "");
      return finish();
    }
    const Json root = Json::parse(text_, nullptr, false);
    if (!root.is_object()) {
      say("a profile is an object", "");
      return finish();
    }
    for (const auto& [key, value] : root.items())
      member(key, value);
    return finish();
  }

 private:
  ReadProfile finish() {
    ReadProfile read;
    if (problems_.empty()) read.feed = std::move(feed_);
    read.problems = std::move(problems_);
    return read;
  }

  void say_at(std::size_t offset, std::string message, std::string at) {
    problems_.push_back(problem_at(text_, offset, std::move(message), std::move(at)));
  }
  void say(std::string message, const std::string& at) {
    say_at(json_offset_of(text_, at).value_or(0), std::move(message), at);
  }

  /// The text of a string value; nothing, and said, when it is none.
  std::optional<std::string> text(const Json& value, const std::string& at) {
    if (value.is_string()) return value.get<std::string>();
    say("text in quotes is needed", at);
    return std::nullopt;
  }

  std::optional<FieldId> field(const Json& value, const std::string& at) {
    const auto name = text(value, at);
    if (!name) return std::nullopt;
    const auto field = engine::field_named(*name);
    if (field) return field;
    NearName near(*name);
    for (const engine::FieldInfo& one : engine::fields())
      near.offer(one.name);
    std::string message = "`" + *name + "` is no field";
    if (!near.best().empty()) message += "; is `" + std::string(near.best()) + "` meant?";
    say(std::move(message), at);
    return std::nullopt;
  }

  void member(const std::string& key, const Json& value) {
    const std::string at = "/" + pointer_step(key);
    if (is_comment(key)) return;
    if (key == "name")
      feed_.name = text(value, at).value_or("");
    else if (key == "decimal")
      decimal(value, at);
    else if (key == "date-order")
      date_order(value, at);
    else if (key == "time-zone")
      time_zone(value, at);
    else if (key == "never-carries")
      never_carries(value, at);
    else if (key == "ignore")
      ignore(value, at);
    else if (key == "hl7")
      places(value, at);
    else if (key == "translate")
      translate(value, at);
    else
      say(unknown_key(key, kKeys), at);
  }

  void decimal(const Json& value, const std::string& at) {
    if (value == "point")
      feed_.decimal = engine::DecimalMark::Point;
    else if (value == "comma")
      feed_.decimal = engine::DecimalMark::Comma;
    else
      say("`point` or `comma` is needed", at);
  }

  void date_order(const Json& value, const std::string& at) {
    if (value == "ymd")
      feed_.date_order = engine::DateOrder::Ymd;
    else if (value == "dmy")
      feed_.date_order = engine::DateOrder::Dmy;
    else if (value == "mdy")
      feed_.date_order = engine::DateOrder::Mdy;
    else
      say("`ymd`, `dmy` or `mdy` is needed", at);
  }

  /// `+01:00`, `-05:30`, `Z`.  Names of zones are refused: their offset changes with the season,
  /// and days are counted by the clock on the wall anyway.
  void time_zone(const Json& value, const std::string& at) {
    const auto zone = text(value, at);
    if (!zone) return;
    if (*zone == "Z" || *zone == "UTC") {
      feed_.offset_minutes = 0;
      return;
    }
    const auto digit = [&](std::size_t i) { return (*zone)[i] - '0'; };
    bool shape =
        zone->size() == 6 && (zone->front() == '+' || zone->front() == '-') && (*zone)[3] == ':';
    for (const std::size_t i : {1U, 2U, 4U, 5U})
      shape = shape && digit(i) >= 0 && digit(i) <= 9;
    const int minutes =
        shape ? (digit(1) * 10 + digit(2)) * 60 + digit(4) * 10 + digit(5) : kLargestOffset + 1;
    if (minutes > kLargestOffset || digit(4) > 5) {
      say("`" + *zone + "` is no offset from UTC; write it as `+01:00`", at);
      return;
    }
    feed_.offset_minutes = static_cast<std::int16_t>(zone->front() == '-' ? -minutes : minutes);
  }

  void never_carries(const Json& value, const std::string& at) {
    if (!value.is_array()) {
      say("a list of fields is needed", at);
      return;
    }
    for (std::size_t i = 0; i < value.size(); ++i)
      if (const auto known = field(value[i], at + "/" + std::to_string(i)))
        feed_.never_carries.set(engine::index(*known));
  }

  void ignore(const Json& value, const std::string& at) {
    if (!value.is_array()) {
      say("a list of keys is needed", at);
      return;
    }
    for (std::size_t i = 0; i < value.size(); ++i) {
      const std::string here = at + "/" + std::to_string(i);
      const auto key = text(value[i], here);
      if (key && engine::field_named(*key))
        say("`" + *key + "` is a field; a field is never ignored", here);
      else if (key)
        feed_.ignored.insert(*key);
    }
  }

  void places(const Json& value, const std::string& at) {
    if (!value.is_array()) {
      say("a list of places is needed", at);
      return;
    }
    for (std::size_t i = 0; i < value.size(); ++i)
      place(value[i], at + "/" + std::to_string(i));
  }

  void place(const Json& value, const std::string& at) {
    if (!value.is_object()) {
      say(R"(a place is an object: {"field": "needle.gauge", "segment": "ZRX", "field-number": 3})",
          at);
      return;
    }
    engine::Hl7Place place;
    const std::size_t before = problems_.size();
    for (const auto& [key, part] : value.items()) {
      const std::string here = at + "/" + pointer_step(key);
      if (is_comment(key)) continue;
      if (key == "segment")
        place.segment = segment(part, here);
      else if (key == "field-number")
        place.field_number = number(part, here);
      else if (key == "component")
        place.component = number(part, here);
      else if (key == "observation")
        place.observation = text(part, here).value_or("");
      else if (key != "field")
        say(unknown_key(key, kPlaceKeys), here);
    }
    if (!value.contains("field")) {
      say("the place does not say which field it holds: `field` is needed", at);
      return;
    }
    const auto known = field(value["field"], at + "/field");
    if (!known || problems_.size() != before) return;
    place.field = *known;
    whole_place(std::move(place), at);
  }

  void whole_place(engine::Hl7Place place, const std::string& at) {
    if (!place.observation.empty()) {
      if (place.segment.empty()) place.segment = "OBX";
      if (place.segment != "OBX") {
        say("an `observation` stands in OBX", at);
        return;
      }
    } else if (place.segment.empty() || place.field_number == 0) {
      say("a place is a `segment` with a `field-number`, or an `observation`", at);
      return;
    }
    feed_.hl7.push_back(std::move(place));
  }

  std::string segment(const Json& value, const std::string& at) {
    std::string name = text(value, at).value_or("");
    bool good = name.size() == 3;
    for (const char c : name)
      good = good && ((c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9'));
    if (!good) say("a segment is named by three letters, like `RXE` or `ZRX`", at);
    return name;
  }

  int number(const Json& value, const std::string& at) {
    if (value.is_number_unsigned() && value.get<std::uint64_t>() >= 1 &&
        value.get<std::uint64_t>() <= kMostFields)
      return value.get<int>();
    say("a number from 1 to " + std::to_string(kMostFields) + " is needed", at);
    return 0;
  }

  void translate(const Json& value, const std::string& at) {
    if (!value.is_object()) {
      say("an object is needed: `units`, or a field, with its words", at);
      return;
    }
    for (const auto& [key, words] : value.items()) {
      const std::string here = at + "/" + pointer_step(key);
      if (is_comment(key)) continue;
      if (!words.is_object()) {
        say("an object is needed: the feed's words, each with ours", here);
      } else if (key == "units") {
        units(words, here);
      } else {
        field_words(key, words, here);
      }
    }
  }

  void units(const Json& words, const std::string& at) {
    for (const auto& [theirs, value] : words.items()) {
      const std::string here = at + "/" + pointer_step(theirs);
      const auto ours = text(value, here);
      if (!ours) continue;
      const auto unit = engine::parse_unit(*ours, engine::UnitSet::Order);
      if (!unit)
        say(unit.error().message, here);
      else
        feed_.units[theirs] = *ours;
    }
  }

  void field_words(const std::string& name, const Json& words, const std::string& at) {
    const auto known = field(Json(name), at);
    if (!known) return;
    const engine::FieldInfo& about = engine::info(*known);
    const bool has_words = about.kind == FieldKind::Word || about.kind == FieldKind::Code ||
                           about.kind == FieldKind::Words;
    if (!has_words) {
      say("`" + name + "` holds no word that could be translated", at);
      return;
    }
    for (const auto& [theirs, value] : words.items()) {
      const std::string here = at + "/" + pointer_step(theirs);
      const auto ours = text(value, here);
      if (!ours) continue;
      if (!is_known(*known, *ours))
        say("`" + *ours + "` is no word that the rules know for " + name, here);
      else
        feed_.words[*known][theirs] = *ours;
    }
  }

  /// Without rules, or where they have no table for the field, any word will do.
  [[nodiscard]] bool is_known(FieldId field, std::string_view word) const {
    if (program_ == nullptr) return true;
    const engine::Vocabulary& vocabulary = program_->vocabularies[engine::index(field)];
    return vocabulary.empty() || vocabulary.find(word) != nullptr;
  }

  std::string_view text_;
  const engine::Program* program_;
  Feed feed_;
  std::vector<InputProblem> problems_;
};

}  // namespace

ReadProfile read_profile(std::string_view text, const engine::Program* program) {
  return Reader(text, program).run();
}

ReadProfile read_profile_file(const std::string& path, const engine::Program* program) {
  std::ifstream file(path, std::ios::binary);
  std::string text{std::istreambuf_iterator<char>(file), {}};
  if (!file.is_open() || file.bad()) {
    ReadProfile read;
    read.problems.push_back({"the file cannot be read", "", 0, 0});
    return read;
  }
  return read_profile(text, program);
}

}  // namespace meniscus::adapters
