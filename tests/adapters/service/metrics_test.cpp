// The text of the metrics against OpenMetrics 1.0.0: families, suffixes, buckets, the end.
#include "adapters/service/metrics.hpp"

#include <gtest/gtest.h>

#include <map>
#include <sstream>
#include <string>
#include <vector>

namespace meniscus::adapters {
namespace {

struct Sample {
  std::string name;
  std::string labels;
  double value = 0;
};

struct Page {
  std::map<std::string, std::string> types;  // by family
  std::vector<Sample> samples;
  bool ended = false;
};

/// Reads a page; a line that is neither comment nor sample is a failure.
Page read(const std::string& text) {
  Page page;
  std::istringstream in(text);
  for (std::string line; std::getline(in, line);) {
    EXPECT_FALSE(page.ended) << line;
    std::istringstream words(line);
    if (line == "# EOF") {
      page.ended = true;
    } else if (line.starts_with("# TYPE ")) {
      std::string mark, word, name, type;
      words >> mark >> word >> name >> type;
      EXPECT_TRUE(page.types.emplace(name, type).second) << name << " twice";
    } else if (!line.starts_with("# HELP ")) {
      const std::size_t space = line.rfind(' ');
      const std::size_t brace = line.find('{');
      Sample sample;
      sample.name = line.substr(0, std::min(space, brace));
      if (brace != std::string::npos) sample.labels = line.substr(brace, space - brace);
      sample.value = std::stod(line.substr(space + 1));
      page.samples.push_back(sample);
    }
  }
  return page;
}

std::string family_of(const Page& page, const std::string& name) {
  for (const std::string suffix : {"", "_total", "_bucket", "_count", "_sum", "_info"}) {
    if (!name.ends_with(suffix)) continue;
    const std::string family = name.substr(0, name.size() - suffix.size());
    const auto found = page.types.find(family);
    if (found == page.types.end()) continue;
    const std::string& type = found->second;
    const bool fits = (type == "counter" && suffix == "_total") ||
                      (type == "gauge" && suffix.empty()) ||
                      (type == "info" && suffix == "_info") ||
                      (type == "histogram" && !suffix.empty() && suffix != "_total");
    if (fits) return family;
  }
  return {};
}

const engine::Verdict& verdict_of(engine::Verdict& verdict) {
  verdict.outcome = engine::Outcome::Hold;
  engine::Finding& finding = verdict.add_finding();
  finding.rule = "needle-gauge";
  finding.grade = engine::Grade::Hold;
  finding.say = "SM-0012";
  verdict.not_assessed.push_back({"substances: ceftriaxone", {"weekly-dose"}, true});
  verdict.not_assessed.push_back({"patient.weight", {"weight-dose"}, true});
  return verdict;
}

TEST(Metrics, ArePartsOfDeclaredFamiliesAndEnd) {
  Metrics metrics;
  engine::Verdict verdict;
  metrics.judged(verdict_of(verdict));
  metrics.answered("MSH|^~\\&|A|B|C|D|2026||RDE^O11|1\rPID|\r", "\x0BMSH|\rMSA|AA|1\r\x1C\r");
  metrics.took("127.0.0.1", 0.002, 5);
  const Page page = read(metrics.text({2, 1, 7, 3, 9, "sha256:00"}));
  EXPECT_TRUE(page.ended);
  for (const Sample& sample : page.samples)
    EXPECT_NE(family_of(page, sample.name), "") << sample.name;
}

TEST(Metrics, NameNoValueOfAnOrder) {
  Metrics metrics;
  engine::Verdict verdict;
  metrics.judged(verdict_of(verdict));
  metrics.answered("MSH|^~\\&|A|B|C|D|2026||SM-0012|1\r", "\x0BMSH|\rMSA|AR|SM-0012\r\x1C\r");
  const std::string text = metrics.text({});
  EXPECT_EQ(text.find("ceftriaxone"), std::string::npos);
  EXPECT_EQ(text.find("SM-0012"), std::string::npos);
  EXPECT_NE(text.find("not_assessed_total{missing=\"substances\"} 1\n"), std::string::npos);
  EXPECT_NE(text.find("not_assessed_total{missing=\"patient.weight\"} 1\n"), std::string::npos);
  EXPECT_NE(text.find("answers_total{kind=\"other\",code=\"AR\"} 1\n"), std::string::npos);
}

TEST(Metrics, BucketsAddUp) {
  Metrics metrics;
  for (const double seconds : {0.00001, 0.00005, 0.0004, 0.3, 99.0})
    metrics.took("127.0.0.1", seconds, 1);
  const Page page = read(metrics.text({}));
  double before = 0;
  std::map<std::string, double> at;
  for (const Sample& sample : page.samples) {
    if (sample.name != "meniscus_answer_seconds_bucket") continue;
    EXPECT_GE(sample.value, before);
    before = at[sample.labels] = sample.value;
  }
  EXPECT_EQ(at.at("{le=\"0.00005\"}"), 2);  // an edge belongs to its bucket
  EXPECT_EQ(at.at("{le=\"0.0005\"}"), 3);
  EXPECT_EQ(at.at("{le=\"1.0\"}"), 4);
  EXPECT_EQ(at.at("{le=\"+Inf\"}"), 5);
}

TEST(Metrics, RememberASenderByItsAddressAndNotTooMany) {
  Metrics metrics;
  for (std::size_t i = 0; i < Metrics::kMostSenders + 10; ++i)
    metrics.took("host-" + std::to_string(i), 0.001, static_cast<double>(i));
  metrics.took("host-100", 0.001, 1000);
  const Page page = read(metrics.text({0, 0, 0, 0, 1003, ""}));
  std::size_t senders = 0;
  for (const Sample& sample : page.samples) {
    if (sample.name != "meniscus_last_message_age_seconds") continue;
    ++senders;
    EXPECT_NE(sample.labels, "{sender=\"host-3\"}");  // the oldest went
    if (sample.labels == "{sender=\"host-100\"}") {
      EXPECT_EQ(sample.value, 3);
    }
  }
  EXPECT_EQ(senders, Metrics::kMostSenders);
}

}  // namespace
}  // namespace meniscus::adapters
