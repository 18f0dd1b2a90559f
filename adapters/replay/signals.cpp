// Contract: see signals.hpp.
#include "adapters/replay/signals.hpp"

#include <algorithm>
#include <array>
#include <boost/math/distributions/hypergeometric.hpp>
#include <cstdio>

namespace meniscus::adapters::replay {

namespace {
constexpr double kOneSide = 0.00135;  // of a normal distribution, beyond three deviations
constexpr Count kLeastOrders = 20;    // of a month: below, a share says nothing

double share_of(Count part, Count all) {
  return all == 0 ? 0 : static_cast<double>(part) / static_cast<double>(all);
}

/// What a month says, beside all other months.
std::optional<SignalKind> month_kind(const RuleMonth& month, Count concerned, Count fired) {
  // Nobody need reckon exactly where a normal distribution is far from its limits: the exact chance
  // of what is less than two deviations off is never so small.
  const auto orders = static_cast<double>(month.concerned);
  const double usual = share_of(fired, concerned);
  const double off = static_cast<double>(month.fired) - orders * usual;
  if (off * off <
      4 * orders * usual * (1 - usual) * share_of(concerned - month.concerned, concerned))
    return std::nullopt;
  const boost::math::hypergeometric_distribution<double> by_chance(fired, month.concerned,
                                                                   concerned);
  if (boost::math::cdf(by_chance, month.fired) < kOneSide)
    return month.fired == 0 ? SignalKind::Stopped : SignalKind::Drop;
  // At least so many: more than one fewer.  With fewer than the distribution allows, it is certain.
  const Count others = concerned - month.concerned;
  const Count least = fired > others ? fired - others : 0;
  if (month.fired > least &&
      boost::math::cdf(boost::math::complement(by_chance, month.fired - 1)) < kOneSide)
    return SignalKind::Jump;
  return std::nullopt;
}

Signal month_signal(SignalKind kind, std::uint16_t rule, Month month, const RuleMonth& counts,
                    double expected) {
  Signal signal;
  signal.kind = kind;
  signal.rule = rule;
  signal.month = month;
  signal.share = share_of(counts.fired, counts.concerned);
  signal.expected = expected;
  signal.of = counts.concerned;
  signal.say = "fired on " + percent(signal.share) + " of the " + std::to_string(counts.concerned) +
               " orders that it concerned in " + month_text(month) + "; " + percent(expected) +
               " in the other months";
  return signal;
}

/// A rule that could not be decided is not one that found nothing.
std::string never_fired(const RuleTally& tally) {
  const std::string concerned = std::to_string(tally.concerned) + " orders";
  if (tally.concerned > 0 && tally.not_assessed >= tally.concerned)
    return "never assessed on the " + concerned + " that it concerned";
  std::string say = "never fired; it concerned " + concerned;
  if (tally.not_assessed > 0)
    say += " and was not assessed on " + std::to_string(tally.not_assessed) + " of them";
  return say;
}

void add_months(const RuleTally& tally, std::uint16_t rule, const std::vector<Month>& months,
                std::vector<Signal>& all) {
  Count concerned = 0;
  Count fired = 0;
  for (const RuleMonth& month : tally.months) {
    concerned += month.concerned;
    fired += month.fired;
  }
  std::vector<Signal> found;
  for (std::size_t i = 0; i < tally.months.size(); ++i) {
    const RuleMonth& month = tally.months[i];
    const Count others = concerned - month.concerned;
    if (month.concerned < kLeastOrders || others < kLeastOrders) continue;
    const double expected = share_of(fired - month.fired, others);
    if (const auto kind = month_kind(month, concerned, fired))
      found.push_back(month_signal(*kind, rule, months[i], month, expected));
  }
  std::ranges::sort(found, {}, &Signal::month);
  all.insert(all.end(), found.begin(), found.end());
}
}  // namespace

std::string_view name(SignalKind kind) {
  switch (kind) {
    case SignalKind::Never:
      return "never";
    case SignalKind::Often:
      return "often";
    case SignalKind::Jump:
      return "jump";
    case SignalKind::Drop:
      return "drop";
    case SignalKind::Stopped:
      return "stopped";
  }
  return "";
}

std::string percent(double share) {
  const double hundred = share * 100;
  std::array<char, 32> text{};
  const int decimals = hundred != 0 && hundred < 0.1 ? 3 : 1;
  std::snprintf(text.data(), text.size(), "%.*f %%", decimals, hundred);
  return text.data();
}

std::vector<Signal> signals_of(const SideTally& side, std::size_t rules,
                               const std::vector<Month>& months, Count judged, double often) {
  std::vector<Signal> all;
  for (std::size_t i = 0; i < rules && i < side.rules.size(); ++i) {
    const RuleTally& tally = side.rules[i];
    const auto rule = static_cast<std::uint16_t>(i);
    if (tally.fired + tally.trial_found + tally.muted == 0) {
      all.push_back(
          {SignalKind::Never, rule, std::nullopt, 0, 0, tally.concerned, never_fired(tally)});
      continue;
    }
    const double share = share_of(tally.fired, judged);
    if (share > often) {
      all.push_back(
          {SignalKind::Often, rule, std::nullopt, share, often, judged,
           "fired on " + percent(share) + " of all " + std::to_string(judged) + " judged orders"});
    }
    add_months(tally, rule, months, all);
  }
  return all;
}

}  // namespace meniscus::adapters::replay
