// load_rules(): which files, in which order, and from which form (contract: rule_files.hpp).
#include <algorithm>
#include <map>
#include <utility>

#include "adapters/compiled/compiled_store.hpp"
#include "adapters/rules/rule_files.hpp"
#include "grammar/compile.hpp"

namespace meniscus::adapters {
namespace {
namespace fs = std::filesystem;

/// Tells files apart, whatever their paths are spelt like.  A folder is looked up once.
class Identities {
 public:
  std::string of(const std::string& path) {
    const fs::path whole = path;
    std::error_code problem;
    if (!whole.has_filename() || fs::is_symlink(whole, problem)) return canonical(whole);
    const fs::path folder = whole.parent_path();
    const auto [known, is_new] = folders_.try_emplace(folder.string());
    if (is_new) known->second = canonical(folder.empty() ? fs::path(".") : folder);
    return known->second + '/' + whole.filename().string();
  }

 private:
  static std::string canonical(const fs::path& path) {
    std::error_code problem;
    const fs::path found = fs::canonical(path, problem);
    return problem ? path.string() : found.string();
  }

  std::map<std::string, std::string> folders_;
};

/// The files to load, each once.
class Finder {
 public:
  explicit Finder(const std::string& shipped) {
    if (shipped.empty()) return;
    const auto& files = files_at(shipped);
    if (!files) return;
    for (const std::string& file : *files)
      shipped_.insert(identities_.of(file));
  }

  WantedRules find(const std::vector<std::string>& paths, std::vector<std::string>& unreadable) {
    WantedRules wanted;
    std::set<std::string> seen;
    for (const std::string& path : paths) {
      const auto& files = files_at(path);
      if (!files) {
        unreadable.push_back(files.error().message);
        continue;
      }
      for (const std::string& file : *files) {
        const std::string own = identities_.of(file);
        if (seen.insert(own).second) wanted.rules.push_back({file, shipped_.contains(own)});
      }
    }
    return wanted;
  }

 private:
  using Files = engine::Result<std::vector<std::string>>;
  const Files& files_at(const std::string& path) {
    const auto known = files_.find(path);
    return known != files_.end() ? known->second
                                 : files_.emplace(path, rule_files_at(path)).first->second;
  }

  Identities identities_;
  std::map<std::string, Files> files_;  // by path: the shipped set is asked for twice
  std::set<std::string> shipped_;
};

/// The rules that some table of cases below the paths names in `expect`: "hold from NAME".
std::set<std::string> tested_by_tables(const std::vector<std::string>& paths) {
  constexpr std::string_view kFrom = " from ";
  constexpr std::string_view kOfNames = "abcdefghijklmnopqrstuvwxyz0123456789-";
  std::set<std::string> rules;
  for (const std::string& path : paths) {
    for (const std::string& file : case_files_at(path)) {
      const auto text = read_file(file);
      if (!text) continue;
      for (std::size_t at = text->find(kFrom); at != std::string::npos;
           at = text->find(kFrom, at + 1)) {
        const std::size_t begin = at + kFrom.size();
        rules.insert(text->substr(begin, text->find_first_not_of(kOfNames, begin) - begin));
      }
    }
  }
  return rules;
}

/// One load: what is wanted, and what it was made from where it was compiled.
class Load {
 public:
  Load(const std::vector<std::string>& paths, const engine::PatternCompiler& patterns,
       const LoadOptions& options)
      : paths_(paths), patterns_(patterns), options_(options) {
    wanted_ = Finder(options.shipped).find(paths, loaded_.unreadable);
    wanted_.rules_day = options.rules_day;
    wanted_.allow_mute_hold = options.allow_mute_hold;
    loaded_.compiled.file = compiled_path(paths);
  }

  void run() {
    if (!may_use_compiled() || !read_compiled_form()) compile();
  }

  /// After compile(), which gave a program.
  [[nodiscard]] engine::Result<std::string> bytes() const {
    CompiledOrigin origin;
    origin.first_day = days_.first;
    origin.last_day = days_.second;
    origin.allow_mute_hold = wanted_.allow_mute_hold;
    for (const grammar::RuleSource& source : sources_)
      origin.rules.push_back({source.name, source.text, source.shipped});
    for (const auto& [name, text] : tables_)
      origin.tables.push_back({name, text, false});
    std::vector<std::string> patterns = pattern_texts_;
    patterns.resize(
        loaded_.program->patterns.size());  // those of rules that are set aside are last
    return write_compiled(origin, *loaded_.program, patterns);
  }

  void compile() {
    read_sources();
    loaded_.files = sources_.size();
    grammar::Compiled compiled = grammar::compile(sources_, compile_options());
    loaded_.diagnostics = std::move(compiled.diagnostics);
    days_ = {compiled.first_day, compiled.last_day};
    if (loaded_.unreadable.empty()) loaded_.program = std::move(compiled.program);
  }

  [[nodiscard]] const LoadedRules& loaded() const { return loaded_; }
  LoadedRules take() { return std::move(loaded_); }

 private:
  [[nodiscard]] bool may_use_compiled() const {
    return options_.use_compiled && options_.apply_changes && !options_.lint &&
           loaded_.unreadable.empty() && !wanted_.rules.empty();
  }

  bool read_compiled_form() {
    auto bytes = read_compiled(loaded_.compiled.file);
    if (!bytes) return pass_over(CompiledUse::Damaged, bytes.error().message);
    if (!*bytes) return false;
    const CompiledFile file(*std::move(*bytes));
    switch (file.fault()) {
      case CompiledFault::None:
        break;
      case CompiledFault::OtherBuild:
        return pass_over(CompiledUse::Stale, "another build of the program made it");
      case CompiledFault::Damaged:
        return pass_over(CompiledUse::Damaged, "it is not whole, or is no file of compiled rules");
    }
    if (std::string why = why_stale(file.origin(), wanted_); !why.empty())
      return pass_over(CompiledUse::Stale, std::move(why));
    loaded_.program = file.program(patterns_, wanted_.rules_day, options_.examples);
    if (loaded_.program == nullptr)
      return pass_over(CompiledUse::Damaged, "what it says of the rules does not hold together");
    loaded_.files = wanted_.rules.size();
    loaded_.compiled.use = CompiledUse::Used;
    return true;
  }

  bool pass_over(CompiledUse use, std::string reason) {
    loaded_.compiled.use = use;
    loaded_.compiled.reason = std::move(reason);
    return false;
  }

  void read_sources() {
    for (const WantedRules::File& file : wanted_.rules) {
      auto text = read_file(file.name);
      if (text) {
        sources_.push_back({file.name, std::move(*text), file.shipped});
      } else {
        loaded_.unreadable.push_back(text.error().message);
      }
    }
  }

  /// Notes what is read on the way.
  grammar::CompileOptions compile_options() {
    grammar::CompileOptions options;
    options.read_file = [this](const std::string& path) {
      auto text = read_file(path);
      if (text) tables_[path] = *text;
      return text;
    };
    options.compile_pattern = [this](const std::string& pattern) {
      auto compiled = patterns_(pattern);
      if (compiled) pattern_texts_.push_back(pattern);
      return compiled;
    };
    options.rules_day = options_.rules_day;
    options.allow_mute_hold = options_.allow_mute_hold;
    options.apply_changes = options_.apply_changes;
    options.examples = options_.examples;
    options.lint = options_.lint;
    if (options_.lint) options.tested = tested_by_tables(paths_);
    return options;
  }

  const std::vector<std::string>& paths_;
  const engine::PatternCompiler& patterns_;
  const LoadOptions& options_;
  WantedRules wanted_;
  LoadedRules loaded_;
  std::vector<grammar::RuleSource> sources_;
  std::map<std::string, std::string> tables_;  // by path
  std::vector<std::string> pattern_texts_;
  std::pair<std::int64_t, std::int64_t> days_;
};

}  // namespace

LoadedRules load_rules(const std::vector<std::string>& paths,
                       const engine::PatternCompiler& patterns, const LoadOptions& options) {
  Load load(paths, patterns, options);
  load.run();
  return load.take();
}

CompiledBytes compile_rules(const std::vector<std::string>& paths,
                            const engine::PatternCompiler& patterns, LoadOptions options) {
  options.apply_changes = true;
  options.lint = false;
  options.examples = true;
  Load load(paths, patterns, options);
  load.compile();
  CompiledBytes made;
  if (load.loaded().program != nullptr && load.loaded().diagnostics.empty()) {
    auto bytes = load.bytes();
    if (bytes) made.bytes = *std::move(bytes);
  }
  made.loaded = load.take();
  return made;
}

std::string damage_sentence(const CompiledLook& look) {
  if (look.use != CompiledUse::Damaged) return {};
  return look.file + " was not used: " + look.reason +
         "; the rules were compiled from their files. `meniscus rules compile` makes it anew";
}

}  // namespace meniscus::adapters
