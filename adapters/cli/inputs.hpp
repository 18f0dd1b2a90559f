// The inputs of a run: a name on the command line becomes a source of orders.
#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <string>

#include "adapters/cli/arguments.hpp"
#include "adapters/cli/console.hpp"
#include "adapters/history/kept_history.hpp"
#include "adapters/input/json_lines.hpp"
#include "adapters/input/open_orders.hpp"
#include "adapters/quarantine/quarantine.hpp"
#include "engine/base/result.hpp"
#include "engine/eval/checker.hpp"
#include "engine/order/field_text.hpp"
#include "engine/ports/order_source.hpp"

namespace meniscus::adapters {

/// What `--from` asks for, as readers name it.
Format format_of(FromFormat from);

/// `file` counts the inputs of the run.  Errors: Input, one sentence that names the input.
engine::Result<OpenedInput> open_named(const std::string& name, FromFormat format,
                                       std::uint32_t file);

/// The same, and its reader.
engine::Result<OpenedOrders> open_input(const std::string& name, FromFormat format,
                                        std::uint32_t file, const engine::ReadContext& context);

/// It is a file, so that it can be opened again, and more than one thread may be worth it.
bool is_large_file(const std::string& name);

/// The input as lines of JSON, when it is a file of them that is worth more than one thread; null
/// when it is not, whatever it is.
std::unique_ptr<JsonLines> open_lines(const std::string& name, FromFormat format, unsigned threads);

/// Where history is kept (--history); null where it is not.  None, and said: it cannot be opened.
std::optional<std::unique_ptr<KeptHistory>> open_history(const Arguments& arguments,
                                                         const Console& console);

/// Where messages that cannot be read are kept (--quarantine); null where they are not.  None, and
/// said: it cannot be used.
std::optional<std::unique_ptr<Quarantine>> open_quarantine(const Arguments& arguments,
                                                           const Console& console);

/// How the orders of `source` are judged: the command's days, and what the feed and the format
/// never carry.  Without slips.
engine::CheckOptions check_options(const Arguments& arguments, const Console& console,
                                   const engine::Feed& feed, const engine::OrderSource& source);

}  // namespace meniscus::adapters
