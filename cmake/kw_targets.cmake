# Helpers that keep one folder = one static library with its tests beside the sources.

add_library(kw_options INTERFACE)
target_include_directories(kw_options INTERFACE ${PROJECT_SOURCE_DIR}/src)
# -ffp-contract=off: a fused multiply-add rounds once where two instructions round twice, so results would differ
# between machines; same input must give the same bytes. -ffast-math is never used: it breaks Eigen's small inverses.
target_compile_options(kw_options INTERFACE -Wall -Wextra -Wpedantic -Wshadow -Wnon-virtual-dtor -Woverloaded-virtual
  -Wcast-align -Wunused -Wimplicit-fallthrough -ffp-contract=off $<$<BOOL:${KW_WERROR}>:-Werror>)
# g++ 12 sees an overlap in plain string assignments that is not there (GCC bug 105651, mended in 13).
if(CMAKE_CXX_COMPILER_ID STREQUAL "GNU" AND CMAKE_CXX_COMPILER_VERSION VERSION_LESS 13)
  target_compile_options(kw_options INTERFACE -Wno-restrict)
endif()
if(KW_SANITIZE)
  target_compile_options(kw_options INTERFACE -fsanitize=${KW_SANITIZE} -fno-omit-frame-pointer -fno-sanitize-recover=all)
  target_link_options(kw_options INTERFACE -fsanitize=${KW_SANITIZE})
endif()
# The flags may come from the command line, a preset, the environment or a build type; base/check.h looks once more.
foreach(flags CMAKE_CXX_FLAGS CMAKE_CXX_FLAGS_DEBUG CMAKE_CXX_FLAGS_RELEASE CMAKE_CXX_FLAGS_RELWITHDEBINFO
        CMAKE_CXX_FLAGS_MINSIZEREL)
  if("${${flags}}" MATCHES "-Ofast|-ffast-math|-funsafe-math|-ffinite-math-only|-fassociative-math|-freciprocal-math")
    message(FATAL_ERROR "${CMAKE_MATCH_0} in ${flags} is not allowed: relaxed floating point silently breaks small matrix "
      "inverses and makes results differ between machines. Take it out.")
  endif()
endforeach()

# kw_library(NAME SOURCES ... DEPS ... PRIVATE_DEPS ...): library kw_NAME of the folder src/NAME.
function(kw_library name)
  cmake_parse_arguments(A "" "" "SOURCES;DEPS;PRIVATE_DEPS" ${ARGN})
  if(A_SOURCES)
    add_library(kw_${name} STATIC ${A_SOURCES})
    target_link_libraries(kw_${name} PUBLIC kw_options ${A_DEPS} PRIVATE ${A_PRIVATE_DEPS})
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
  target_compile_definitions(${name}_test PRIVATE KW_SOURCE_DIR="${PROJECT_SOURCE_DIR}")
  gtest_discover_tests(${name}_test DISCOVERY_MODE PRE_TEST PROPERTIES TIMEOUT 900)
endfunction()
