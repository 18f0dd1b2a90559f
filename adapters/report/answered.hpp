// What reports say about questions that somebody has answered.
#pragma once

#include <string>

#include "engine/answers/answer.hpp"
#include "engine/verdict/verdict.hpp"

namespace meniscus::adapters {

/// `Answered on 2026-03-02 by pharmacist, until 2026-06-30: The pen is marked so.`
std::string answer_sentence(const engine::Answer& answer);

/// `order A-102 of patient SM-0012`, or `every order of patient SM-0012`.
std::string answer_target(const engine::Answer& answer);

/// `dose 50 mg, vial.opened none`: what the question rested on.
std::string answered_values(const engine::Answer& answer);

/// What was said and asked: both texts on one line.
std::string question_text(const std::string& say, const std::string& ask);

/// Appends `,"answered":[...]`, or nothing where there are none.
void append_answered_json(std::string& out, const engine::Verdict& verdict);

}  // namespace meniscus::adapters
