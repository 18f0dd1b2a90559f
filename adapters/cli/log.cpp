// Contract: see log.hpp.
#include "adapters/cli/log.hpp"

#include <spdlog/logger.h>
#include <spdlog/sinks/base_sink.h>

#include <mutex>

namespace meniscus::adapters {

namespace {
/// Lines go through the console, so that tests see them.
class ConsoleSink final : public spdlog::sinks::base_sink<std::mutex> {
 public:
  explicit ConsoleSink(WriteBytes write) : write_(std::move(write)) {}

 protected:
  void sink_it_(const spdlog::details::log_msg& message) override {
    spdlog::memory_buf_t line;
    formatter_->format(message, line);
    static_cast<void>(write_({line.data(), line.size()}));
  }
  void flush_() override {}

 private:
  WriteBytes write_;
};

spdlog::level::level_enum level_of(LogLevel level) {
  switch (level) {
    case LogLevel::Off:
      return spdlog::level::off;
    case LogLevel::Error:
      return spdlog::level::err;
    case LogLevel::Warn:
      return spdlog::level::warn;
    case LogLevel::Info:
      return spdlog::level::info;
    case LogLevel::Debug:
      return spdlog::level::debug;
  }
  return spdlog::level::warn;
}
}  // namespace

struct Log::State {
  explicit State(const Console& console)
      : logger("meniscus", std::make_shared<ConsoleSink>(console.err)) {}
  spdlog::logger logger;
};

Log::Log(LogLevel level, const Console& console) : state_(std::make_unique<State>(console)) {
  state_->logger.set_pattern("%Y-%m-%dT%H:%M:%S.%e%z %n %l: %v");
  state_->logger.set_level(level_of(level));
}
Log::~Log() = default;

void Log::debug(std::string_view text) const { state_->logger.debug("{}", text); }
void Log::info(std::string_view text) const { state_->logger.info("{}", text); }
void Log::warn(std::string_view text) const { state_->logger.warn("{}", text); }
void Log::error(std::string_view text) const { state_->logger.error("{}", text); }

}  // namespace meniscus::adapters
