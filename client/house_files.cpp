#include "client/house_files.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <iterator>

#include "client/check.hpp"
#include "common/kitchen/load.hpp"

namespace nappe::client {
namespace {

namespace fs = std::filesystem;

std::vector<std::string> rule_sets_named(const std::vector<kitchen::File>& files) {
  std::vector<std::string> named;
  for (const kitchen::File& file : files) {
    const auto root = kitchen::read_document(file);
    const kitchen::Node* rules = root ? root.value->find("rules") : nullptr;
    if (rules != nullptr && rules->kind == kitchen::Node::Kind::text) named.push_back(rules->text);
  }
  return named;
}

}  // namespace

Error faults_in_words(const std::vector<kitchen::Fault>& faults) {
  std::string text;
  for (const kitchen::Fault& fault : faults) text += (text.empty() ? "" : "\n") + kitchen::to_string(fault);
  return Error{Errc::invalid, text};
}

Result<kitchen::File> read_kitchen_file(const std::string& path) {
  std::error_code unknown;
  if (fs::is_directory(path, unknown)) return Error{Errc::invalid, path + " is a folder: name a file in it"};
  std::ifstream in(path, std::ios::binary);
  std::string text{std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
  if (!in.good() && !in.eof()) return Error{Errc::unknown, path + " cannot be read: check its name"};
  return kitchen::File{fs::path(path).generic_string(), std::move(text)};
}

Result<HouseFiles> read_house_files(const std::string& folder) {
  std::vector<kitchen::Fault> faults;
  HouseFiles out;
  out.files = read_json_files(folder, faults);
  if (!faults.empty()) return faults_in_words(faults);
  if (out.files.empty())
    return Error{Errc::unknown, folder + " holds no kitchen file: name the folder that holds house.json"};
  auto loaded = kitchen::load_kitchen(out.files, rule_sets_named(out.files));
  if (!loaded) return faults_in_words(loaded.faults);
  out.kitchen = std::move(*loaded.value);
  return out;
}

std::string kind_of_file(const kitchen::File& file) {
  const auto root = kitchen::read_document(file);
  const kitchen::Node* schema = root ? root.value->find("$schema") : nullptr;
  if (schema == nullptr) return {};
  const std::string leaf = fs::path(schema->text).filename().string();
  return leaf.substr(0, leaf.find('.'));
}

Result<kitchen::BookingSheet> read_booking_sheets(const std::string& folder, const std::vector<std::string>& named,
                                                  const kitchen::Kitchen& kitchen) {
  std::vector<std::string> paths = named;
  if (paths.empty()) paths.push_back((fs::path(folder) / "bookings.json").string());
  kitchen::BookingSheet all;
  for (const std::string& path : paths) {
    const auto file = read_kitchen_file(path);
    if (!file) return file.error();
    auto sheet = kitchen::load_bookings(*file, kitchen);
    if (!sheet) return faults_in_words(sheet.faults);
    all.title += (all.title.empty() ? "" : " + ") + sheet.value->title;
    for (kitchen::Booking& booking : sheet.value->bookings) {
      const bool twice = std::any_of(all.bookings.begin(), all.bookings.end(),
                                     [&](const kitchen::Booking& one) { return one.id == booking.id; });
      if (twice)
        return Error{Errc::invalid, fmt::format("{}: booking \"{}\" stands on another sheet too", path, booking.id)};
      all.bookings.push_back(std::move(booking));
    }
  }
  std::stable_sort(all.bookings.begin(), all.bookings.end(),
                   [](const kitchen::Booking& a, const kitchen::Booking& b) { return a.at < b.at; });
  return all;
}

}  // namespace nappe::client
