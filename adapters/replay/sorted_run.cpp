// Contract: see sorted_run.hpp.
#include "adapters/replay/sorted_run.hpp"

#include <algorithm>
#include <cmath>
#include <exception>
#include <filesystem>
#include <iterator>
#include <limits>
#include <sstream>
#include <system_error>
#include <thread>
#include <utility>

#include "adapters/replay/partition_judge.hpp"
#include "adapters/replay/stream_run.hpp"
#include "engine/base/flat_map.hpp"

namespace meniscus::adapters::replay {

namespace {
namespace fs = std::filesystem;

/// Where a record stands in its partition, and what it is sorted by.
struct Placed {
  double received = 0;
  std::uint64_t turn = 0;
  std::size_t at = 0;
};

/// The size of an image, with that of the second side.
std::size_t size_of(std::string_view images, bool two) {
  std::size_t size = head_of(images).size;
  if (two) size += head_of(images.substr(size)).size;
  return size;
}

/// The first of every pair of images, in the order of the inputs.
std::vector<Placed> placed(std::string_view images, bool two) {
  std::vector<Placed> all;
  for (std::size_t at = 0; at < images.size(); at += size_of(images.substr(at), two)) {
    const ImageHead head = head_of(images.substr(at));
    all.push_back({head.received, head.turn, at});
  }
  std::ranges::sort(all, {}, &Placed::turn);
  return all;
}

void sort_by_receipt(std::string_view images, std::vector<Placed>& all) {
  engine::FlatMap<double> last;  // by owner, of the record before
  for (Placed& record : all) {
    const std::uint64_t owner = head_of(images.substr(record.at)).owner();
    const bool known = last.find(owner) != nullptr;
    double& before = last.find_or_add(owner);
    if (!known) before = -std::numeric_limits<double>::infinity();
    if (std::isnan(record.received))
      record.received = before;
    else
      before = record.received;
  }
  std::ranges::stable_sort(all, {}, &Placed::received);
}

/// As many parts as keep one of them to some 16 MB in memory, as far as the inputs' sizes tell.
std::size_t parts_for(const Reading& reading, unsigned threads) {
  constexpr std::uint64_t kPartBytes = std::uint64_t{16} << 20U;
  constexpr std::uint64_t kImageBytesPerByte = 2;
  constexpr std::uint64_t kUnknownBytes = std::uint64_t{256} << 20U;
  std::uint64_t bytes = 0;
  for (const auto* names : {&reading.warm_up, &reading.inputs}) {
    for (const std::string& name : *names) {
      std::error_code problem;
      const std::uint64_t size = fs::is_regular_file(name, problem)
                                     ? static_cast<std::uint64_t>(fs::file_size(name, problem))
                                     : kUnknownBytes;
      const bool compressed = name.ends_with(".gz") || name.ends_with(".zst");
      bytes += compressed ? size * 10 : size;
    }
  }
  return std::clamp<std::size_t>(bytes * kImageBytesPerByte / kPartBytes, std::size_t{2} * threads,
                                 400);
}
}  // namespace

SortedRun::SortedRun(const Plan& plan, const Reading& reading, const ReplayOptions& options,
                     Progress& progress)
    : plan_(plan),
      reading_(reading),
      options_(options),
      progress_(progress),
      first_(std::numeric_limits<double>::infinity()) {
  reading_.partitions =
      options.partitions > 0 ? options.partitions : parts_for(reading, options.threads);
}

/// Inputs by name, size and time; rules by their hash and day; what else changes a count.
RunIdentity SortedRun::identity() const {
  std::ostringstream text;
  const auto add = [&text](const auto& part) { text << part << '\n'; };
  for (const auto* names : {&reading_.warm_up, &reading_.inputs}) {
    for (const std::string& name : *names) {
      std::error_code problem;
      add(name);
      add(fs::file_size(name, problem));
      add(fs::last_write_time(name, problem).time_since_epoch().count());
    }
    add("");
  }
  for (const PlanSide& side : plan_.sides) {
    add(side.program->hash);
    add(side.program->rules_day);
  }
  add(static_cast<int>(reading_.format));
  add(reading_.profile);
  add(reading_.shard.number);
  add(reading_.shard.of);
  add(static_cast<int>(plan_.fail_at));
  add(plan_.as_of.value_or(0));
  add(plan_.history_since.value_or(0));
  add(plan_.answers_text);
  add(plan_.seed);
  add(plan_.examples);
  add(plan_.sample);
  return {text.str(), plan_.today, reading_.partitions};
}

engine::Result<ReplayResult> SortedRun::run() {
  auto folder = WorkFolder::open(options_.folder, identity());
  if (!folder) return folder.error();
  folder_ = std::move(*folder);
  reading_.partitions = folder_->parts() - 1;
  read_all();
  ReplayResult result;
  result.sorted = true;
  result.since = known_since(plan_, first_);
  if (!is_over()) judge_parts(result);
  if (!failure_.empty()) return engine::Error{engine::Errc::Input, failure_, 0, 0};
  result.stopped = progress_.stop;
  for (auto& [number, sentences] : unopened_)
    std::ranges::move(sentences, std::back_inserter(result.unopened));
  if (!result.stopped) folder_->done();
  return result;
}

/// Brings all records into their parts, unless an earlier run has done so.
void SortedRun::read_all() {
  if (const auto written = folder_->written()) {
    first_ = written->first;
    merged_.insert(written->merged.begin(), written->merged.end());
    unopened_[0] = written->unopened;
    return;
  }
  write_parts();
  if (!is_over() && !merged_.empty()) gather_merged();
  if (is_over()) return;
  Written written{first_, {merged_.begin(), merged_.end()}, {}};
  for (const auto& [number, sentences] : unopened_)
    written.unopened.insert(written.unopened.end(), sentences.begin(), sentences.end());
  const engine::Status kept = folder_->keep(written);
  if (!kept) fail(kept.error().message);
}

void SortedRun::fail(std::string sentence) {
  const std::lock_guard lock(mutex_);
  if (failure_.empty()) failure_ = std::move(sentence);
}

bool SortedRun::is_over() {
  const std::lock_guard lock(mutex_);
  return progress_.stop || !failure_.empty();
}

template <class Work>
void SortedRun::on_threads(Work work) {
  const auto guarded = [this, &work] {
    try {
      work();
    } catch (const std::exception& problem) {
      fail(problem.what());  // a third party's, or memory has run out
    }
  };
  std::vector<std::thread> others;
  for (unsigned i = 1; i < options_.threads; ++i)
    others.emplace_back(guarded);
  guarded();
  for (std::thread& other : others)
    other.join();
}

void SortedRun::write_parts() {
  RecordReader reader(reading_);
  if (reading_.shard.number == 1 && reading_.shard.of > 1) reader.keep_all_shards();
  on_threads([this, &reader] { write_some(reader); });
}

void SortedRun::write_some(RecordReader& reader) {
  const auto scratch = RecordReader::make_scratch();
  while (!is_over()) {
    RecordReader::PieceHandle piece;
    {
      const std::lock_guard lock(taking_);
      piece = reader.take();
    }
    if (piece == nullptr) return;
    arrived(reader.read(std::move(piece), *scratch));
  }
}

void SortedRun::arrived(const Batch& batch) {
  for (std::size_t i = 0; i < batch.parts.size(); ++i) {
    const engine::Status written = folder_->part(i).append(batch.parts[i]);
    if (!written) fail(written.error().message);
  }
  progress_.read += batch.records;
  progress_.sorted += batch.records;
  progress_.bytes += batch.bytes;
  if (!batch.broken.empty()) fail(batch.broken);
  const std::lock_guard lock(mutex_);
  first_ = std::min(first_, batch.first);
  for (const auto& [former, patient] : batch.merges) {
    merged_.insert(former);
    merged_.insert(patient);
  }
  if (!batch.unopened.empty()) unopened_[batch.number] = batch.unopened;
}

/// The records of ids that were merged go into the last part, those of the first shard's run alone.
void SortedRun::gather_merged() {
  if (reading_.shard.number != 1) return;
  PartFile& last = folder_->part(reading_.partitions);
  for (std::size_t i = 0; i < reading_.partitions && !is_over(); ++i) {
    const engine::Result<std::string> images = folder_->part(i).read();
    if (!images) return fail(images.error().message);
    for (std::string_view rest = *images; !rest.empty();) {
      const std::size_t size = size_of(rest, plan_.words_differ);
      if (merged_.contains(head_of(rest).patient)) {
        const engine::Status written = last.append(rest.substr(0, size));
        if (!written) return fail(written.error().message);
      }
      rest.remove_prefix(size);
    }
  }
}

void SortedRun::judge_parts(ReplayResult& result) {
  progress_.partitions = folder_->parts();
  std::vector<Tally> tallies(folder_->parts());
  on_threads([this, &tallies] { judge_some(tallies); });
  if (is_over()) return;
  for (const Tally& tally : tallies)
    result.tally.merge(tally);
}

void SortedRun::judge_some(std::vector<Tally>& tallies) {
  while (!is_over()) {
    std::size_t number = 0;
    {
      const std::lock_guard lock(mutex_);
      if (next_part_ == folder_->parts()) return;
      number = next_part_++;
    }
    if (auto judged = folder_->tally(number)) {
      tallies[number] = std::move(*judged);
    } else {
      judge_part(number, tallies[number]);
    }
    ++progress_.judged;
  }
}

bool SortedRun::is_mine(const ImageHead& head, std::size_t part) const {
  const bool merged = !merged_.empty() && merged_.contains(head.patient);
  if (part == reading_.partitions) return merged;
  return !merged && reading_.shard.holds(head.owner());
}

void SortedRun::judge_part(std::size_t number, Tally& tally) {
  const engine::Result<std::string> images = folder_->part(number).read();
  if (!images) return fail(images.error().message);
  std::vector<Placed> order = placed(*images, plan_.words_differ);
  sort_by_receipt(*images, order);
  PartitionJudge judge(plan_, known_since(plan_, first_));
  for (const Placed& record : order) {
    const std::string_view image = std::string_view(*images).substr(record.at);
    if (is_mine(head_of(image), number)) judge.take(image);
  }
  judge.settle();
  tally = judge.finish();
  const engine::Status kept = folder_->keep(number, tally);
  if (!kept) return fail(kept.error().message);
  folder_->part(number).remove();
}

}  // namespace meniscus::adapters::replay
