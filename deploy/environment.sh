# Sourced by run and test: a virtual environment with the pinned dependencies of one list.
# usage: environment LIST FOLDER

environment() {
    python=${PYTHON:-python3}
    "$python" -c 'import sys; sys.exit(sys.version_info < (3, 11))' || {
        echo "Python 3.11 or later is needed; set PYTHON to one." >&2
        return 1
    }
    # The folder is made anew only when the list has changed.
    if ! cmp -s "deploy/$1" "$2/installed.txt"; then
        echo "Setting up $2 from deploy/$1 ..." >&2
        "$python" -m venv --clear "$2"
        "$2/bin/python" -m pip install --quiet --disable-pip-version-check \
            --require-hashes --requirement "deploy/$1"
        cp "deploy/$1" "$2/installed.txt"
    fi
}
