// Contract: see work_folder.hpp.
#include "adapters/replay/work_folder.hpp"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <cstdio>
#include <cstdlib>
#include <fstream>
#include <limits>
#include <nlohmann/json.hpp>
#include <sstream>
#include <system_error>
#include <utility>

#include "adapters/replay/summary.hpp"

namespace meniscus::adapters::replay {

namespace {
namespace fs = std::filesystem;
using Json = nlohmann::json;

engine::Error cannot(const std::string& what, const std::string& path, int code) {
  return {engine::Errc::Input, what + " " + path + ": " + std::generic_category().message(code), 0,
          0};
}

std::string unfinished_name(const std::string& path) { return path + ".unfinished"; }

/// A descriptor, or -1 with errno set.
int create(const std::string& path) {
  return ::open(path.c_str(), O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, S_IRUSR | S_IWUSR);
}

std::optional<std::string> text_of(const fs::path& path) {
  std::ifstream file(path, std::ios::binary);
  std::ostringstream text;
  text << file.rdbuf();
  if (!file) return std::nullopt;
  return text.str();
}

/// Null where there is none that can be read.
Json json_of(const fs::path& path) {
  const auto text = text_of(path);
  if (!text) return {};
  Json json = Json::parse(*text, nullptr, false);
  return json.is_object() ? json : Json();
}

engine::Result<fs::path> make_temporary() {
  std::error_code problem;
  const fs::path parent = fs::temp_directory_path(problem);
  std::string name = ((problem ? fs::path("/tmp") : parent) / "meniscus-replay-XXXXXX").string();
  if (::mkdtemp(name.data()) == nullptr) return cannot("cannot make a folder in", parent, errno);
  return fs::path(name);
}

/// Makes the named folder where there is none; true: made.
engine::Result<bool> make_named(const fs::path& path, const RunIdentity& identity) {
  std::error_code ignored;  // mkdir says what is wrong
  if (path.has_parent_path()) fs::create_directories(path.parent_path(), ignored);
  if (::mkdir(path.c_str(), S_IRWXU) == 0) return true;
  if (errno != EEXIST) return cannot("cannot make", path, errno);
  fs::remove(unfinished_name(path / "run.json"), ignored);  // of a run that ended as it began
  std::error_code problem;
  const bool empty = fs::is_empty(path, problem);
  if (problem) return cannot("cannot use", path, problem.value());
  if (empty) return false;
  const Json run = json_of(path / "run.json");
  if (run.is_null())
    return engine::Error{engine::Errc::Usage,
                         path.string() + " is not empty and holds no replay; name an empty folder",
                         0, 0};
  if (run.value("run", "") != identity.text)
    return engine::Error{engine::Errc::Usage,
                         path.string() +
                             " holds a replay of other files, rules or settings; name "
                             "another folder, or empty it",
                         0, 0};
  return false;
}
}  // namespace

engine::Status can_write(const std::string& path) {
  const std::string unfinished = unfinished_name(path);
  const int file = create(unfinished);
  if (file < 0) return cannot("cannot write", path, errno);
  ::close(file);
  ::unlink(unfinished.c_str());
  return engine::Done{};
}

engine::Status write_private_file(const std::string& path, std::string_view text) {
  const std::string unfinished = unfinished_name(path);
  const int file = create(unfinished);
  if (file < 0) return cannot("cannot write", path, errno);
  int problem = 0;
  while (problem == 0 && !text.empty()) {
    const ssize_t put = ::write(file, text.data(), text.size());
    if (put < 0 && errno == EINTR) continue;
    if (put < 0)
      problem = errno;
    else
      text.remove_prefix(static_cast<std::size_t>(put));
  }
  if (problem == 0 && ::fsync(file) != 0 && errno != EINVAL) problem = errno;  // no disk behind it
  ::close(file);
  if (problem == 0 && ::rename(unfinished.c_str(), path.c_str()) != 0) problem = errno;
  if (problem == 0) return engine::Done{};
  ::unlink(unfinished.c_str());
  return cannot("cannot write", path, problem);
}

engine::Result<std::unique_ptr<WorkFolder>> WorkFolder::open(const std::string& named,
                                                             const RunIdentity& identity) {
  fs::path path = named;
  bool made = true;
  if (named.empty()) {
    auto temporary = make_temporary();
    if (!temporary) return temporary.error();
    path = *temporary;
  } else {
    const auto ready = make_named(path, identity);
    if (!ready) return ready.error();
    made = *ready;
  }
  std::size_t partitions = identity.partitions;
  if (!named.empty()) {
    const Json run = json_of(path / "run.json");
    if (run.is_null()) {
      const Json begun{{"run", identity.text}, {"day", identity.today}, {"parts", partitions}};
      const engine::Status written = write_private_file(path / "run.json", begun.dump() + "\n");
      if (!written) return written.error();
    } else {
      partitions = run.value("parts", partitions);
    }
  }
  std::unique_ptr<WorkFolder> folder(new WorkFolder(path, named.empty(), made, partitions));
  if (!folder->written()) {
    for (std::size_t i = 0; i < folder->parts(); ++i)
      folder->part(i).remove();  // of a run that ended while it wrote
  }
  return folder;
}

std::optional<std::int64_t> WorkFolder::day_of(const std::string& named) {
  if (named.empty()) return std::nullopt;
  const Json run = json_of(fs::path(named) / "run.json");
  if (run.is_null() || !run.contains("day") || !run["day"].is_number_integer()) return std::nullopt;
  return run["day"].get<std::int64_t>();
}

WorkFolder::WorkFolder(fs::path path, bool temporary, bool made, std::size_t partitions)
    : path_(std::move(path)), temporary_(temporary), made_(made) {
  for (std::size_t i = 0; i <= partitions; ++i)
    parts_.push_back(std::make_unique<PartFile>(file("part-%04zu", i)));
}

WorkFolder::~WorkFolder() {
  if (temporary_ || done_) empty();
}

std::string WorkFolder::file(const char* pattern, std::size_t number) const {
  std::array<char, 64> name{};
  // The patterns are our own, just above and below.
  std::snprintf(name.data(), name.size(), pattern, number);  // NOLINT(*-vararg)
  return path_ / name.data();
}

/// Killed at any instant of this, the folder still holds a run that gives the right counts: first
/// goes what says that the parts are whole, and last what says which run it is.
void WorkFolder::empty() {
  std::error_code ignored;
  const auto remove = [&ignored](const std::string& path) {
    fs::remove(unfinished_name(path), ignored);
    fs::remove(path, ignored);
  };
  remove(path_ / "written.json");
  for (std::size_t i = 0; i < parts_.size(); ++i) {
    parts_[i]->remove();
    remove(file("tally-%04zu.json", i));
  }
  remove(path_ / "run.json");
  if (made_) fs::remove(path_, ignored);
}

std::optional<Written> WorkFolder::written() const {
  if (temporary_) return std::nullopt;
  const Json json = json_of(path_ / "written.json");
  try {
    if (json.is_null()) return std::nullopt;
    Written written;
    written.first = json.at("first").is_null() ? std::numeric_limits<double>::infinity()
                                               : json.at("first").get<double>();
    json.at("merged").get_to(written.merged);
    json.at("unopened").get_to(written.unopened);
    return written;
  } catch (const Json::exception&) {
    return std::nullopt;  // as if it had not been written
  }
}

engine::Status WorkFolder::keep(const Written& written) {
  if (temporary_) return engine::Done{};
  // JSON has no infinity: the library writes null.
  const Json json{
      {"first", written.first}, {"merged", written.merged}, {"unopened", written.unopened}};
  return write_private_file(path_ / "written.json", json.dump() + "\n");
}

std::optional<Tally> WorkFolder::tally(std::size_t number) const {
  if (temporary_) return std::nullopt;
  const auto text = text_of(file("tally-%04zu.json", number));
  return text ? read_tally(*text) : std::nullopt;
}

engine::Status WorkFolder::keep(std::size_t number, const Tally& tally) {
  if (temporary_) return engine::Done{};
  return write_private_file(file("tally-%04zu.json", number), tally_json(tally));
}

}  // namespace meniscus::adapters::replay
