#include "client/prep.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <fstream>
#include <ostream>

#include "client/crossings.hpp"
#include "client/draw.hpp"
#include "client/house_files.hpp"
#include "client/prep_screen.hpp"
#include "common/kitchen/prep.hpp"
#include "common/mise/prep_list.hpp"
#include "common/mise/prep_words.hpp"
#include "common/words.hpp"

namespace nappe::client {
namespace {

int sentence(const Error& error, std::ostream& err) {
  err << error.detail << '\n';
  return 1;
}

Status write_file(const std::string& path, const std::string& text) {
  if (path.empty()) return Done{};
  std::ofstream out(path, std::ios::binary | std::ios::trunc);
  out << text << std::flush;
  if (!out) return Error{Errc::unavailable, path + " cannot be written: check the folder and its rights"};
  return Done{};
}

const kitchen::File* file_of_kind(const HouseFiles& house, const std::string& kind) {
  const auto found = std::find_if(house.files.begin(), house.files.end(),
                                  [&](const kitchen::File& file) { return kind_of_file(file) == kind; });
  return found == house.files.end() ? nullptr : &*found;
}

Result<kitchen::PrepSheet> read_prep(const HouseFiles& house, const std::string& folder) {
  const kitchen::File* prep = file_of_kind(house, "prep");
  if (prep == nullptr)
    return Error{Errc::unknown,
                 folder + " holds no prep file: add one whose \"$schema\" is \"../schema/prep.schema.json\""};
  kitchen::BatchSheet batches;
  if (const kitchen::File* file = file_of_kind(house, "batches")) {
    auto loaded = kitchen::load_batches(*file, house.kitchen);
    if (!loaded) return faults_in_words(loaded.faults);
    batches = std::move(*loaded.value);
  }
  auto loaded = kitchen::load_prep(*prep, house.kitchen, batches);
  if (!loaded) return faults_in_words(loaded.faults);
  return std::move(*loaded.value);
}

// "3" is the third line of the list, anything else an id.
Result<std::string> line_named(const std::vector<mise::Part>& parts, const std::string& said) {
  std::size_t number = 0;
  const auto read = std::from_chars(said.data(), said.data() + said.size(), number);
  const bool is_number = read.ec == std::errc{} && read.ptr == said.data() + said.size();
  std::size_t count = 0;
  for (const mise::Part& part : parts) {
    for (const mise::Line& line : part.lines) {
      ++count;
      if (is_number ? count == number : line.id == said) return line.id;
    }
  }
  return Error{Errc::unknown, fmt::format("there is no line {} on the list: its lines are 1 to {}", said, count)};
}

// Text behind a prefix, folded to the width; what goes on stands under its beginning.
void put(std::ostream& out, int columns, const std::string& prefix, const std::string& text) {
  const int indent = columns_of(prefix);
  bool first = true;
  for (const std::string& line : wrapped(text, std::max(20, columns - indent))) {
    out << (first ? prefix : std::string(static_cast<std::size_t>(indent), ' ')) << line << '\n';
    first = false;
  }
}

void print_lines(std::ostream& out, int columns, const std::vector<mise::Part>& parts, const Crossings& crossings) {
  std::size_t number = 0;
  for (const mise::Part& part : parts) {
    out << '\n' << part.heading << '\n';
    for (const mise::Line& line : part.lines) {
      ++number;
      put(out, columns,
          fmt::format("{:>3} [{}] {:<6}{:<8} ", number, crossings.crossed(line.id) ? 'x' : ' ', line.when,
                      line.station),
          line.text);
      if (!line.small.empty()) put(out, columns, fmt::format("{:>23} ", ""), line.small);
    }
  }
}

void print_list(std::ostream& out, int columns, const mise::PrepList& list, const Crossings& crossings) {
  put(out, columns, "", fmt::format("{}: {}", list.house, list.title));
  put(out, columns, "",
      fmt::format("{}, {}; enough for {:.0f} nights in 100 of each thing; line check {}", counted(list.covers, "cover"),
                  counted(list.parties, "party", "parties"), 100 * list.ratio, mise::day_text(list.line_check)));
  for (const std::string& remark : mise::remarks_of(list)) put(out, columns, "! ", remark);
  out << "\nhow much\n";
  for (const mise::Line& line : mise::amounts_of(list)) {
    put(out, columns, fmt::format("  {:<8} ", line.station), line.text);
    if (!line.small.empty()) put(out, columns, fmt::format("  {:<8} from ", ""), line.small);
  }
  out << "\nin the chiller\n";
  for (const mise::Line& line : mise::chiller_of(list)) {
    put(out, columns, fmt::format("  {:<8} ", line.when), line.text);
    put(out, columns, fmt::format("  {:<8} ", ""), line.small);
  }
  print_lines(out, columns, mise::parts_of(list), crossings);
  out << '\n';
  put(out, columns, "", mise::prep_caution());
}

struct Lists {
  mise::PrepList now;
  std::optional<mise::PrepList> before;
};

Result<Lists> work_out(const PrepOptions& options) {
  if (options.ratio && !(*options.ratio >= 0.01 && *options.ratio <= 0.999))
    return Error{Errc::invalid, fmt::format("--ratio {}: give 0.01 to 0.999", *options.ratio)};
  const auto house = read_house_files(options.folder);
  if (!house) return house.error();
  auto sheet = read_prep(*house, options.folder);
  if (!sheet) return sheet.error();
  const auto bookings = read_booking_sheets(options.folder, options.bookings, house->kitchen);
  if (!bookings) return bookings.error();
  if (options.live) {
    const auto record = options.live();
    if (!record) return record.error();
    const Instant last = mise::last_plates(house->kitchen, *sheet, *bookings, record->now, record->utc_offset);
    sheet->stock = mise::live_stock(*sheet, record->batches, record->now, last, record->utc_offset);
  }
  const mise::PrepTerms terms{options.ratio, options.as_booked};
  Lists out;
  if (!options.against.empty()) {
    const auto old = read_booking_sheets(options.folder, options.against, house->kitchen);
    if (!old) return old.error();
    out.before = mise::make_list(house->kitchen, *sheet, *old, terms);
  }
  out.now = mise::make_list(house->kitchen, *sheet, *bookings, terms, out.before ? &*out.before : nullptr);
  return out;
}

Result<CrossingsFile> open_crossings(const PrepOptions& options, const mise::PrepList& list) {
  return CrossingsFile::open(options.crossings.empty() ? crossings_path(list.house, list.title)
                                                       : std::filesystem::path(options.crossings));
}

// Crosses out what was asked for; the crossings as they are then.
Result<Crossings> cross_out(const PrepOptions& options, const mise::PrepList& list, std::ostream& out) {
  auto file = open_crossings(options, list);
  if (!file) return file.error();
  if (options.cross.empty() && !options.undo) return file->crossings;
  const auto parts = mise::parts_of(list);
  std::vector<std::string> ids;
  for (const std::string& said : options.cross) {
    auto id = line_named(parts, said);
    if (!id) return id.error();
    ids.push_back(std::move(id).value());
  }
  for (const std::string& id : ids) {
    file->crossings.toggle(id);
    out << fmt::format("{} {}\n", file->crossings.crossed(id) ? "crossed out:" : "no longer crossed out:", id);
  }
  if (options.undo) {
    const std::string id = file->crossings.undo();
    out << (id.empty() ? "nothing was crossed out\n" : fmt::format("taken back: {}\n", id));
  }
  if (Status saved = file->save(); !saved) return saved.error();
  return file->crossings;
}

}  // namespace

Result<std::vector<std::string>> checked_items(const PrepOptions& options) {
  const auto lists = work_out(options);
  if (!lists) return lists.error();
  const auto file = open_crossings(options, lists->now);
  if (!file) return file.error();
  std::vector<std::string> out;
  for (const mise::CheckLine& line : lists->now.check)
    if (file->crossings.crossed("check/" + line.item)) out.push_back(line.item);
  return out;
}

int prep_screen_command(const PrepOptions& options, bool colour, std::ostream& err) {
  const auto lists = work_out(options);
  if (!lists) return sentence(lists.error(), err);
  auto file = open_crossings(options, lists->now);
  if (!file) return sentence(file.error(), err);
  PrepModel model;
  model.title = lists->now.house + ": " + lists->now.title;
  model.parts = mise::parts_of(lists->now);
  model.remarks = mise::remarks_of(lists->now);
  const Status shown = show_prep(std::move(model), *file, colour);
  return shown ? 0 : sentence(shown.error(), err);
}

int prep_command(const PrepOptions& options, std::ostream& out, std::ostream& err) {
  const auto lists = work_out(options);
  if (!lists) return sentence(lists.error(), err);
  const auto crossings = cross_out(options, lists->now, out);
  if (!crossings) return sentence(crossings.error(), err);
  if (options.cross.empty() && !options.undo) {
    if (lists->before) {
      const auto lines = mise::changes(*lists->before, lists->now);
      for (const std::string& line : lines) put(out, options.columns, "", line);
      if (lines.empty()) out << "nothing changes\n";
    } else {
      print_list(out, options.columns, lists->now, *crossings);
    }
  }
  if (Status written = write_file(options.json, mise::prep_json(lists->now)); !written)
    return sentence(written.error(), err);
  if (Status written = write_file(options.page, mise::prep_page(lists->now, crossings->all())); !written)
    return sentence(written.error(), err);
  return 0;
}

}  // namespace nappe::client
