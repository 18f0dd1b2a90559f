// Contract: see quarantine.hpp.
#include "adapters/quarantine/quarantine.hpp"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>
#include <optional>
#include <utility>

namespace meniscus::adapters {

namespace {

namespace fs = std::filesystem;
using engine::Done;
using engine::Status;

constexpr std::string_view kBytes = ".hl7";
constexpr std::string_view kReason = ".json";
constexpr mode_t kOwner = S_IRUSR | S_IWUSR;

engine::Error trouble(const std::string& path, std::string_view what, int number) {
  return {engine::Errc::Input, path + ": " + std::string(what) + ": " + std::strerror(number)};
}

class File {
 public:
  File(const std::string& path, int flags)
      : handle_(::open(path.c_str(), flags | O_CLOEXEC, kOwner)) {}
  ~File() {
    if (handle_ >= 0) ::close(handle_);
  }
  File(const File&) = delete;
  File& operator=(const File&) = delete;

  [[nodiscard]] bool is_open() const { return handle_ >= 0; }
  [[nodiscard]] bool write(std::string_view bytes) const {
    while (!bytes.empty()) {
      const ssize_t written = ::write(handle_, bytes.data(), bytes.size());
      if (written < 0 && errno == EINTR) continue;
      if (written < 0) return false;
      bytes.remove_prefix(static_cast<std::size_t>(written));
    }
    return true;
  }
  [[nodiscard]] bool sync() const { return ::fsync(handle_) == 0; }

 private:
  int handle_;
};

/// Written beside, brought to the disk, and named.
Status write_whole(const std::string& path, std::string_view bytes) {
  const std::string beside = path + ".part";
  ::unlink(beside.c_str());
  {
    const File file(beside, O_WRONLY | O_CREAT | O_EXCL);
    if (!file.is_open() || !file.write(bytes) || !file.sync()) {
      const int number = errno;
      ::unlink(beside.c_str());
      return trouble(path, "cannot be written", number);
    }
  }
  if (::rename(beside.c_str(), path.c_str()) != 0) return trouble(path, "cannot be named", errno);
  return Done{};
}

Status sync_folder(const std::string& folder) {
  const File opened(folder, O_RDONLY | O_DIRECTORY);
  if (!opened.is_open() || !opened.sync()) return trouble(folder, "cannot be written", errno);
  return Done{};
}

std::optional<Quarantined> read_reason(const fs::path& path) {
  std::ifstream in(path);
  const auto json = nlohmann::json::parse(in, nullptr, false);
  if (!json.is_object()) return std::nullopt;
  Quarantined one;
  one.name = path.stem().string();
  one.why = {json.value("reason", ""), json.value("at", ""), json.value("line", std::uint64_t{0}),
             json.value("received", 0.0)};
  std::error_code problem;
  one.bytes = fs::file_size(fs::path(path).replace_extension(kBytes), problem);
  if (problem) return std::nullopt;
  return one;
}

}  // namespace

engine::Result<std::unique_ptr<Quarantine>> Quarantine::open(const std::string& folder) {
  if (::mkdir(folder.c_str(), S_IRWXU) != 0 && errno != EEXIST)
    return trouble(folder, "cannot be made", errno);
  std::unique_ptr<Quarantine> made(new Quarantine(folder));
  const auto held = made->list();
  if (!held) return held.error();
  if (::access(folder.c_str(), W_OK | X_OK) != 0)
    return trouble(folder, "cannot be written", errno);
  made->size_ = held->size();
  return made;
}

std::string Quarantine::path(const std::string& name) const {
  return folder_ + "/" + name + std::string(kBytes);
}

bool Quarantine::has(const std::string& name) const {
  return ::access(path(name).c_str(), F_OK) == 0;
}

Status Quarantine::put(const std::string& name, std::string_view bytes,
                       const QuarantineReason& why) {
  if (has(name)) return Done{};
  if (size_ >= kMost) size_ = size();
  if (size_ >= kMost) {
    return engine::Error{engine::Errc::Input,
                         folder_ + ": holds " + std::to_string(kMost) +
                             " messages that could not be read; no more are kept until `meniscus "
                             "quarantine` has made room"};
  }
  const nlohmann::json reason = {
      {"reason", why.reason}, {"at", why.at}, {"line", why.line}, {"received", why.received}};
  const std::string text =
      reason.dump(2, ' ', false, nlohmann::json::error_handler_t::replace) + "\n";
  // The reason first: what is there has one.
  Status done = write_whole(folder_ + "/" + name + std::string(kReason), text);
  if (done) done = write_whole(path(name), bytes);
  if (done) done = sync_folder(folder_);
  if (done) ++size_;
  return done;
}

engine::Result<std::vector<Quarantined>> Quarantine::list() const {
  std::vector<Quarantined> all;
  std::error_code problem;
  for (fs::directory_iterator at(folder_, problem), end; !problem && at != end;
       at.increment(problem)) {
    if (at->path().extension() != kReason) continue;
    if (auto one = read_reason(at->path())) all.push_back(std::move(*one));
  }
  if (problem) return trouble(folder_, "cannot be read", problem.value());
  std::sort(all.begin(), all.end(), [](const Quarantined& a, const Quarantined& b) {
    return std::pair(a.why.received, a.name) < std::pair(b.why.received, b.name);
  });
  return all;
}

std::size_t Quarantine::size() const {
  std::size_t count = 0;
  std::error_code problem;
  for (fs::directory_iterator at(folder_, problem), end; !problem && at != end;
       at.increment(problem))
    count += at->path().extension() == kBytes ? 1U : 0U;
  return problem ? size_ : count;
}

Status Quarantine::discard(const std::string& name) {
  if (::unlink(path(name).c_str()) != 0) return trouble(path(name), "cannot be removed", errno);
  ::unlink((folder_ + "/" + name + std::string(kReason)).c_str());
  if (size_ > 0) --size_;
  return sync_folder(folder_);
}

}  // namespace meniscus::adapters
