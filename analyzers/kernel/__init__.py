"""The only folder that imports OpenCascade: loads a file, turns each solid into arrays, answers exact questions."""
