#include "common/plan/profile.hpp"

#include <catch2/catch.hpp>

using nappe::plan::Profile;

TEST_CASE("a resource is full for k units where fewer than k are left") {
  Profile profile;
  profile.reset(3, 0, 200);
  profile.place(10, 20, 2);
  CHECK(profile.used(9) == 0);
  CHECK(profile.used(10) == 2);
  CHECK(profile.used(19) == 2);
  CHECK(profile.used(20) == 0);
  CHECK(profile.first_full(0, 100, 1) == 100);
  CHECK(profile.first_full(0, 100, 2) == 10);
  CHECK(profile.last_full(0, 100, 2) == 19);
  CHECK(profile.last_full(0, 10, 2) == -1);
  CHECK(profile.first_full(20, 100, 3) == 100);
}

TEST_CASE("more units than there are never fit") {
  Profile profile;
  profile.reset(2, 0, 50);
  CHECK(profile.first_full(5, 9, 3) == 5);
  CHECK(profile.last_full(5, 9, 3) == 8);
  std::vector<std::uint64_t> bits;
  profile.full_bits(5, 9, 3, bits);
  CHECK((bits[0] & 0xFU) == 0xFU);
}

TEST_CASE("what has begun may take more than there is, and is given back exactly") {
  Profile profile;
  profile.reset(1, 0, 130);
  const Profile empty = profile;
  profile.place(60, 70, 1);
  profile.place(62, 128, 1);
  profile.place(0, 130, 1);
  CHECK(profile.used(65) == 3);
  CHECK(profile.used(127) == 2);
  profile.remove(60, 70, 1);
  CHECK(profile.used(65) == 2);
  profile.remove(0, 130, 1);
  profile.remove(62, 128, 1);
  CHECK(profile == empty);
}

TEST_CASE("ticks outside the profile are free") {
  Profile profile;
  profile.reset(1, 100, 164);
  profile.place(90, 110, 1);
  CHECK(profile.first_full(0, 100, 1) == 100);
  CHECK(profile.first_full(0, 200, 1) == 100);
  CHECK(profile.last_full(0, 200, 1) == 109);
  profile.remove(90, 110, 1);
  CHECK(profile.first_full(0, 200, 1) == 200);
}
