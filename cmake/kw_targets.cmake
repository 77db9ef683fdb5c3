# Helpers that keep one folder = one static library with its tests beside the sources.

# Other compilers warn about other things; a user's build must not stop at that.
if(KW_WERROR AND NOT (CMAKE_CXX_COMPILER_ID STREQUAL "GNU" AND CMAKE_CXX_COMPILER_VERSION VERSION_LESS 13
                      AND CMAKE_CXX_COMPILER_VERSION VERSION_GREATER_EQUAL 12))
  message(STATUS "Warnings are no errors here: they are kept clean for g++ 12, this is "
                 "${CMAKE_CXX_COMPILER_ID} ${CMAKE_CXX_COMPILER_VERSION}")
  set(KW_WERROR OFF)
endif()

# The standard headers that nearly every file reads are parsed once (about a quarter of the build). Off, a file that
# forgot one of its own includes is found.
option(KW_PRECOMPILED "Parse the common standard headers once" ON)

add_library(kw_options INTERFACE)
target_include_directories(kw_options INTERFACE ${PROJECT_SOURCE_DIR}/src)
# fmt is for every folder; its macro must be the same wherever the precompiled headers are read.
target_link_libraries(kw_options INTERFACE fmt::fmt)
# -ffp-contract=off: a fused multiply-add rounds once where two instructions round twice, so results would differ
# between machines; same input must give the same bytes. -ffast-math is never used: it breaks Eigen's small inverses.
target_compile_options(kw_options INTERFACE -Wall -Wextra -Wpedantic -Wshadow -Wnon-virtual-dtor -Woverloaded-virtual
  -Wcast-align -Wunused -Wimplicit-fallthrough -ffp-contract=off $<$<BOOL:${KW_WERROR}>:-Werror>)
# g++ 12 sees an overlap in plain string assignments that is not there (GCC bug 105651, mended in 13).
if(CMAKE_CXX_COMPILER_ID STREQUAL "GNU" AND CMAKE_CXX_COMPILER_VERSION VERSION_LESS 13)
  target_compile_options(kw_options INTERFACE -Wno-restrict)
  # With precompiled headers it also sees strings copied beyond their ends in the standard library's own moves.
  if(KW_PRECOMPILED)
    target_compile_options(kw_options INTERFACE -Wno-array-bounds -Wno-stringop-overflow)
  endif()
endif()
if(KW_SANITIZE)
  target_compile_options(kw_options INTERFACE -fsanitize=${KW_SANITIZE} -fno-omit-frame-pointer -fno-sanitize-recover=all)
  target_link_options(kw_options INTERFACE -fsanitize=${KW_SANITIZE})
  # A quarter of the build's time for nothing that would go unseen: the address sanitizer stops at a null or foreign
  # address and at an object's end, x86 and arm64 read any alignment, and no class here is cast down.
  if(KW_SANITIZE MATCHES "undefined")
    target_compile_options(kw_options INTERFACE -fno-sanitize=null,alignment,object-size,vptr)
  endif()
endif()
if(KW_FUZZ)
  if(NOT CMAKE_CXX_COMPILER_ID MATCHES "Clang")
    message(FATAL_ERROR "KW_FUZZ needs clang: configure with the preset fuzz, or with -DCMAKE_CXX_COMPILER=clang++.")
  endif()
  target_compile_options(kw_options INTERFACE -fsanitize=fuzzer-no-link)
endif()
# The flags may come from the command line, a preset, the environment or a build type; base/check.h looks once more.
foreach(flags CMAKE_CXX_FLAGS CMAKE_CXX_FLAGS_DEBUG CMAKE_CXX_FLAGS_RELEASE CMAKE_CXX_FLAGS_RELWITHDEBINFO
        CMAKE_CXX_FLAGS_MINSIZEREL)
  if("${${flags}}" MATCHES "-Ofast|-ffast-math|-funsafe-math|-ffinite-math-only|-fassociative-math|-freciprocal-math")
    message(FATAL_ERROR "${CMAKE_MATCH_0} in ${flags} is not allowed: relaxed floating point silently breaks small matrix "
      "inverses and makes results differ between machines. Take it out.")
  endif()
endforeach()

if(KW_PRECOMPILED)
  set(KW_COMMON_HEADERS <algorithm> <array> <cmath> <functional> <limits> <map> <memory> <numbers> <numeric> <optional>
    <set> <string> <utility> <vector> <fmt/format.h>)
  file(CONFIGURE OUTPUT ${CMAKE_BINARY_DIR}/precompiled.cpp CONTENT "// Carries the precompiled headers.\n")
  add_library(kw_precompiled OBJECT ${CMAKE_BINARY_DIR}/precompiled.cpp)
  target_link_libraries(kw_precompiled PRIVATE kw_options)
  target_precompile_headers(kw_precompiled PRIVATE ${KW_COMMON_HEADERS})
  if(KW_TESTS)
    add_library(kw_precompiled_test OBJECT ${CMAKE_BINARY_DIR}/precompiled.cpp)
    target_link_libraries(kw_precompiled_test PRIVATE kw_options GTest::gtest)
    target_precompile_headers(kw_precompiled_test PRIVATE ${KW_COMMON_HEADERS} <gtest/gtest.h>)
  endif()
endif()

# kw_library(NAME SOURCES ... DEPS ... PRIVATE_DEPS ...): library kw_NAME of the folder src/NAME.
function(kw_library name)
  cmake_parse_arguments(A "" "" "SOURCES;DEPS;PRIVATE_DEPS" ${ARGN})
  if(A_SOURCES)
    add_library(kw_${name} STATIC ${A_SOURCES})
    target_link_libraries(kw_${name} PUBLIC kw_options ${A_DEPS} PRIVATE ${A_PRIVATE_DEPS})
    if(KW_PRECOMPILED)
      target_precompile_headers(kw_${name} REUSE_FROM kw_precompiled)
    endif()
  else()
    add_library(kw_${name} INTERFACE)
    target_link_libraries(kw_${name} INTERFACE kw_options ${A_DEPS} ${A_PRIVATE_DEPS})
  endif()
endfunction()

# kw_test(NAME SOURCES ... DEPS ...): one test program NAME_test, every case known to ctest.
function(kw_test name)
  if(NOT KW_TESTS)
    return()
  endif()
  cmake_parse_arguments(A "" "" "SOURCES;DEPS" ${ARGN})
  add_executable(${name}_test ${A_SOURCES})
  target_link_libraries(${name}_test PRIVATE ${A_DEPS} kw_options GTest::gtest_main)
  if(KW_PRECOMPILED)
    target_precompile_headers(${name}_test REUSE_FROM kw_precompiled_test)
  endif()
  target_compile_definitions(${name}_test PRIVATE KW_SOURCE_DIR="${PROJECT_SOURCE_DIR}")
  gtest_discover_tests(${name}_test DISCOVERY_MODE PRE_TEST PROPERTIES TIMEOUT 900)
endfunction()
