// Contract: see stream_run.hpp.
#include "adapters/replay/stream_run.hpp"

#include <algorithm>
#include <cmath>
#include <exception>
#include <iterator>
#include <thread>
#include <utility>

#include "engine/history/history.hpp"

namespace meniscus::adapters::replay {

namespace {
constexpr double kDay = 86400.0;
/// One thread judges everything in full blocks; several want more partitions than they are.
std::size_t partitions_for(unsigned threads) { return threads == 1 ? 1 : std::size_t{2} * threads; }
}  // namespace

double known_since(const Plan& plan, double first) {
  if (plan.history_since) return static_cast<double>(*plan.history_since) * kDay;
  return std::isfinite(first) ? std::floor(first / kDay) * kDay : engine::History::kAlways;
}

StreamRun::StreamRun(const Plan& plan, const Reading& reading, unsigned threads, Progress& progress)
    : plan_(plan),
      reading_(reading),
      threads_(threads),
      progress_(progress),
      reader_([&] {
        Reading mine = reading;
        mine.partitions = partitions_for(threads);
        return mine;
      }()),
      partitions_(partitions_for(threads)) {}

engine::Result<ReplayResult> StreamRun::run() {
  std::vector<std::thread> others;
  for (unsigned i = 1; i < threads_; ++i)
    others.emplace_back([this] { work(); });
  work();
  for (std::thread& other : others)
    other.join();
  if (!failure_.empty()) return engine::Error{engine::Errc::Internal, failure_, 0, 0};
  ReplayResult result;
  result.stopped = progress_.stop.load();
  for (auto& [number, sentences] : unopened_)
    std::ranges::move(sentences, std::back_inserter(result.unopened));
  result.since = since_;
  if (result.stopped || !why_sort_.empty()) return result;
  for (Partition& partition : partitions_) {
    if (partition.judge == nullptr)
      partition.judge = std::make_unique<PartitionJudge>(plan_, since_);
    result.tally.merge(partition.judge->finish());
  }
  return result;
}

void StreamRun::work() {
  try {
    const auto scratch = RecordReader::make_scratch();
    Lock lock(mutex_);
    work_locked(lock, *scratch);
  } catch (const std::exception& problem) {
    // A third party's, or memory has run out: the whole run ends.
    const Lock lock(mutex_);
    failure_ = problem.what();
    changed_.notify_all();
  }
}

bool StreamRun::is_over() const {
  return !failure_.empty() || !why_sort_.empty() || progress_.stop || (at_end_ && in_work_ == 0);
}

void StreamRun::work_locked(Lock& lock, RecordReader::Scratch& scratch) {
  while (!is_over()) {
    if (Partition* partition = ready_partition()) {
      judge(*partition, lock);
    } else if (!at_end_ && !taking_ && in_work_ < std::size_t{3} * threads_) {
      read(lock, scratch);
    } else {
      changed_.wait(lock);
    }
  }
  changed_.notify_all();
}

StreamRun::Partition* StreamRun::ready_partition() {
  if (!since_known_) return nullptr;
  for (Partition& partition : partitions_) {
    if (!partition.busy && waiting_.contains(partition.next)) return &partition;
  }
  return nullptr;
}

void StreamRun::judge(Partition& partition, Lock& lock) {
  const auto at = waiting_.find(partition.next);
  const std::string& images =
      at->second.batch.parts[static_cast<std::size_t>(&partition - partitions_.data())];
  partition.busy = true;
  if (partition.judge == nullptr) partition.judge = std::make_unique<PartitionJudge>(plan_, since_);
  lock.unlock();
  judge_part(*partition.judge, images, plan_.words_differ);
  lock.lock();
  partition.busy = false;
  ++partition.next;
  if (partition.judge->is_out_of_order() && why_sort_.empty())
    why_sort_ = "a record stands behind one that was received after it";
  if (--at->second.left == 0) {
    waiting_.erase(at);
    --in_work_;
  }
  changed_.notify_all();
}

void StreamRun::judge_part(PartitionJudge& judge, const std::string& images, bool two_images) {
  std::string_view rest = images;
  while (!rest.empty()) {
    judge.take(rest);
    rest.remove_prefix(head_of(rest).size);
    if (two_images) rest.remove_prefix(head_of(rest).size);
  }
  judge.settle();
}

void StreamRun::read(Lock& lock, RecordReader::Scratch& scratch) {
  taking_ = true;
  lock.unlock();
  RecordReader::PieceHandle piece = reader_.take();
  lock.lock();
  taking_ = false;
  at_end_ = piece == nullptr;
  changed_.notify_all();
  if (at_end_) return;
  ++in_work_;
  lock.unlock();
  Batch batch = reader_.read(std::move(piece), scratch);
  lock.lock();
  arrived(std::move(batch));
  changed_.notify_all();
}

void StreamRun::arrived(Batch batch) {
  progress_.read += batch.records;
  progress_.bytes += batch.bytes;
  if (!batch.unopened.empty()) unopened_[batch.number] = batch.unopened;
  if (!batch.broken.empty()) failure_ = batch.broken;
  if (!batch.merges.empty() && why_sort_.empty()) why_sort_ = "it says that ids are of one patient";
  const std::uint64_t number = batch.number;
  const double first = batch.first;
  waiting_.emplace(number, Waiting{std::move(batch), partitions_.size()});
  if (number == 0) {
    begin_judging(first);
    for (const auto& [other, waiting] : waiting_) {
      if (waiting.batch.first < first_ && why_sort_.empty())
        why_sort_ = "its first record is not the one that was received first";
    }
  } else if (since_known_ && first < first_ && why_sort_.empty()) {
    why_sort_ = "its first record is not the one that was received first";
  }
}

void StreamRun::begin_judging(double first) {
  first_ = first;
  since_ = known_since(plan_, first);
  since_known_ = true;
}

}  // namespace meniscus::adapters::replay
